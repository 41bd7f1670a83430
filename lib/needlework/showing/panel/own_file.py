"""Where a flight of the learner's own is handed in as a file, in place of one flown on the panel above."""

from __future__ import annotations

import html
from collections.abc import Mapping
from typing import Any

import ipywidgets as widgets

from needlework.basis.errors import NeedleworkError
from needlework.exercises import own_flight, progress
from needlework.showing.panel.pages import near, page_of, spoken_time
from needlework.world import procedure
from needlework.world.datafiles import datasets_dir

_WORDS = (
    "<p><b>A flight of your own instead</b>, from a simulator or an aircraft: choose its recording "
    f"({', '.join(own_flight.FORMATS)}), and the procedure that was flown: one of the course, or a file of "
    "your own (.toml). "
    "The newest flight counts, whether it was flown on the panel or taken here. "
    "A file says neither who flew nor in what: handed in, a person looks at it.</p>"
)


class OwnFile:
    """Two fields for files, a button, and what is said.

    Parameters
    ----------
    name : str
        Name of the exercise.
    about : mapping
        Whose flight it is, as in a recording of the panel.
    published : str
        Name of the procedure that is meant where no own one is chosen.

    Attributes
    ----------
    box : ipywidgets.VBox
        All of it, to be shown.
    """

    def __init__(self, name: str, about: Mapping[str, Any], published: str) -> None:
        self._name, self._about, self._published = name, dict(about), published
        wide = widgets.Layout(width="auto")
        self.recording = widgets.FileUpload(
            accept=",".join(own_flight.FORMATS), multiple=False, description="Your recording", layout=wide
        )
        self.flown = widgets.Dropdown(
            options=_courses(published), value=published, description="Flown:", layout=widgets.Layout(width="auto")
        )
        self.procedure = widgets.FileUpload(
            accept=".toml", multiple=False, description="Or a procedure file of your own", layout=wide
        )
        self.button = widgets.Button(description="Take this flight", layout=wide)
        self.said = widgets.HTML()
        self.button.on_click(lambda _button: self.take())
        for field in (self.recording, self.procedure):
            field.observe(lambda _change: self.chosen(), "value")
        fields = widgets.HBox(
            [self.recording, self.flown, self.procedure, self.button], layout=widgets.Layout(flex_flow="row wrap")
        )
        self.box = widgets.VBox([widgets.HTML(_WORDS), fields, self.said])
        self.box.add_class("nw-own-file")

    def chosen(self) -> None:
        """Say which files are chosen: their fields tell how many, and what was said before is no longer true."""
        files = ((self.recording, "recording"), (self.procedure, "procedure"))
        names = [f"your {what} {chosen[0]}" for field, what in files if (chosen := _file_of(field))]
        self.said.value = f"<p>Chosen: {html.escape(' and '.join(names))}.</p>" if names else ""

    def _refuse(self, why: str) -> None:
        self.said.value = f'<p class="nw-refused" role="alert"><b>✗ Not taken.</b> {html.escape(why)}</p>'

    def take(self) -> None:
        """Take what was chosen, keep it, and show its debrief; what cannot be taken is said in one sentence."""
        chosen, own = _file_of(self.recording), _file_of(self.procedure)
        if own is None and self.flown.value != self._published:
            own = _of_the_course(str(self.flown.value))
        if chosen is None:
            self._refuse("No recording is chosen yet: choose its file first.")
            return
        try:
            flight = own_flight.handed_in(self._name, self._about, chosen, own, published=self._published)
            if flight.by_the_course:
                self._refuse(flight.by_the_course)
                return
            report = flight.report(self._published)
            path = own_flight.keep(flight)
        except NeedleworkError as fault:
            self._refuse(str(fault))
            return
        from needlework import debrief

        summary = {"score": round(report.score, 1), "passed": report.passed}
        noted = {"name": self._name, "recording": str(path), "flown_s": flight.flown_s, **summary}
        warning = "" if progress.being_marked() else progress.note_flight(noted)
        taken = (
            f"{flight.file} is taken, {spoken_time(flight.flown_s)} long, and kept in {near(path)}: "
            f"have it judged below, as a flight of the panel. {warning}"
        )
        self.said.value = f"<p>{html.escape(taken)}</p>{page_of(report, debrief.text(report))}"


def _courses(published: str) -> list[tuple[str, str]]:
    """Give the procedures of the course as choices, the one of the question first."""
    ways = {name: procedure.load(name) for name in sorted(procedure.names(), key=lambda name: name != published)}
    return [(f"{way.airport.name}, {way.name}", name) for name, way in ways.items()]


def _of_the_course(name: str) -> tuple[str, bytes]:
    path = datasets_dir() / "procedures" / f"{name}.toml"
    return path.name, path.read_bytes()


def _file_of(field: widgets.FileUpload) -> tuple[str, bytes] | None:
    """Give name and content of what was chosen; None where nothing was."""
    return next(((str(each["name"]), bytes(each["content"])) for each in field.value), None)
