"""Every still picture of the course: ``draw_...`` returns axes, ``show_...`` displays and says what it shows."""

from needlework.pictures.dial import Dial, draw_needle, draw_needles, show_needle, show_needles
from needlework.pictures.passage import draw_passage, show_passage
from needlework.pictures.plan import Place, draw_plan, show_plan
from needlework.pictures.recorded import draw_passage_strip, show_passage_strip
from needlework.pictures.show import png_bytes, show
from needlework.pictures.strips import draw_strips, show_strips
from needlework.pictures.style import CAUTION, PALETTE, new_figure, sentence_of

__all__ = [
    "CAUTION",
    "PALETTE",
    "Dial",
    "Place",
    "draw_needle",
    "draw_needles",
    "draw_passage",
    "draw_passage_strip",
    "draw_plan",
    "draw_strips",
    "new_figure",
    "png_bytes",
    "sentence_of",
    "show",
    "show_needle",
    "show_needles",
    "show_passage",
    "show_passage_strip",
    "show_plan",
    "show_strips",
]
