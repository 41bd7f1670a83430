"""Every still picture of the course: ``draw_...`` returns axes, ``show_...`` displays and says what it shows."""

from needlework.showing.pictures.arcs import draw_arc, show_arc
from needlework.showing.pictures.cockpit import draw_cockpit, show_cockpit
from needlework.showing.pictures.dial import Dial, draw_needle, draw_needles, show_needle, show_needles
from needlework.showing.pictures.holding_pattern import (
    draw_entries,
    draw_hold,
    draw_procedure_hold,
    show_entries,
    show_hold,
    show_procedure_hold,
)
from needlework.showing.pictures.intercepts import draw_faults, draw_intercept, show_faults, show_intercept
from needlework.showing.pictures.passage import draw_passage, show_passage
from needlework.showing.pictures.plan_view import Place, draw_plan, show_plan
from needlework.showing.pictures.procedures import (
    draw_flown_plan,
    draw_procedure_plan,
    show_flown_plan,
    show_procedure_plan,
)
from needlework.showing.pictures.profile import (
    ProfileFix,
    draw_descent,
    draw_flown_profile,
    draw_procedure_profile,
    show_descent,
    show_flown_profile,
    show_procedure_profile,
)
from needlework.showing.pictures.readme import add_command, save_readme_pictures
from needlework.showing.pictures.recorded import draw_passage_strip, show_passage_strip
from needlework.showing.pictures.runs import draw_runs, show_runs
from needlework.showing.pictures.show import beside_words, for_a_class, markup, png_bytes, show
from needlework.showing.pictures.strips import draw_flown_strips, draw_strips, show_flown_strips, show_strips
from needlework.showing.pictures.style import CAUTION, PALETTE, new_figure, sentence_of
from needlework.showing.pictures.ways_out import draw_ways_out, show_ways_out

__all__ = [
    "CAUTION",
    "PALETTE",
    "Dial",
    "Place",
    "ProfileFix",
    "add_command",
    "beside_words",
    "draw_arc",
    "draw_cockpit",
    "draw_descent",
    "draw_entries",
    "draw_faults",
    "draw_flown_plan",
    "draw_flown_profile",
    "draw_flown_strips",
    "draw_hold",
    "draw_intercept",
    "draw_needle",
    "draw_needles",
    "draw_passage",
    "draw_passage_strip",
    "draw_plan",
    "draw_procedure_hold",
    "draw_procedure_plan",
    "draw_procedure_profile",
    "draw_runs",
    "draw_strips",
    "draw_ways_out",
    "for_a_class",
    "markup",
    "new_figure",
    "png_bytes",
    "save_readme_pictures",
    "sentence_of",
    "show",
    "show_arc",
    "show_cockpit",
    "show_descent",
    "show_entries",
    "show_faults",
    "show_flown_plan",
    "show_flown_profile",
    "show_flown_strips",
    "show_hold",
    "show_intercept",
    "show_needle",
    "show_needles",
    "show_passage",
    "show_passage_strip",
    "show_plan",
    "show_procedure_hold",
    "show_procedure_plan",
    "show_procedure_profile",
    "show_runs",
    "show_strips",
    "show_ways_out",
]
