"""What the class knows of a lesson, as one page for the instructor that asks nobody for anything, and as a table."""

from __future__ import annotations

import csv
import html
import io
import math
import re
import textwrap
from collections.abc import Callable, Iterable, Sequence

from needlework.desk import items
from needlework.desk.alike import Answer, Given
from needlework.desk.class_look import Asked, Look, Mistake, Place, chosen, first_words, in_words, share_of, told_as
from needlework.desk.tokens import TOKENS

_STYLE = (
    TOKENS
    + """
body { font: 16px/1.5 system-ui, sans-serif; max-width: 64rem; margin: 2rem auto; padding: 0 1rem; color: var(--ink);
  background: var(--paper); }
h1 { font-size: 1.6rem; margin-bottom: 0; } h2 { font-size: 1.25rem; margin-top: 2.2rem; }
h3 { font-size: 1.05rem; margin: 1.4rem 0 .3rem; }
a { color: var(--bar); }
.soft, figcaption { color: var(--soft); }
ul.first { list-style: none; padding: 0; }
ul.first li { border-left: 6px solid var(--bar); background: var(--box); margin: .5rem 0; padding: .4rem .9rem; }
ul.first li.wrong { border-color: var(--wrong); } ul.first li.teach { border-color: var(--teach); }
ul.first .what { font-weight: bold; margin-right: .4em; } li.wrong > .what { color: var(--wrong); }
li.teach > .what { color: var(--teach); }
.wide { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: .94rem; }
th, td { border-bottom: 1px solid var(--line); padding: .3rem .6rem .3rem 0; text-align: left; vertical-align: top; }
td.n, th.n { text-align: right; white-space: nowrap; } td:first-child { min-width: 12em; }
figure { margin: 1rem 0; } svg { max-width: 100%; height: auto; display: block; }
svg text { fill: var(--ink); font: 13px system-ui, sans-serif; }
svg .bar { fill: var(--bar); } svg .rest { fill: none; stroke: var(--line); }
svg .line { stroke: var(--bar); stroke-width: 3; } svg .dot { fill: var(--bar); }
svg .bad .line { stroke: var(--wrong); } svg .bad .dot { fill: var(--wrong); } svg .axis { stroke: var(--line); }
code { background: var(--box); padding: .1em .3em; overflow-wrap: anywhere; font-size: .9em; }
details { margin: .3rem 0; }
@media print {
  @page { size: A4; margin: 14mm; }
  body { margin: 0; padding: 0; max-width: none; font-size: 9.5pt; line-height: 1.35; }
  table { font-size: 8.5pt; } figure, li, tr { break-inside: avoid; } h2, h3 { break-after: avoid; }
  .type-this { display: none; } .wide { overflow: visible; }
}
"""
)

_LETTERS = 70
"""So many of a mistake's own words stand in the table."""

_WORDS = {
    "wrong": "Look at the question.",
    "teach": "Teach again.",
    "all": "Teach again.",
    "shared": "One set of numbers:",
}
_HOW = (
    "<b>Right</b> is the share of all hand-ins with full marks in a question, <b>marks</b> the mean share of its "
    "marks; "
    "what was left out counts 0. <b>With the rest</b> is Pearson's correlation of the marks in a question with those "
    "of all the other questions together (the corrected item-total correlation: Henrysson, <i>Psychometrika</i> 28, "
    "1963): near 0, those who know the rest do no better in it; below 0, they do worse. Behind it stands the "
    "interval "
    "that holds it 95 times of 100, by Fisher's transformation: tanh(artanh r ± 1.96 / √(n − 3)) for n hand-ins "
    "(Fisher, <i>Metron</i> 1, 1921). A question is named for it only where the interval that holds it 99 times of "
    "100 "
    "lies below 0.15. In 300 simulated classes of 200, each with forty good questions and one with a wrong key, a "
    "good "
    "one was named in 4 and the bad one in all; in 300 classes of 30, a good one in 6 and the bad one in 193."
)
_NUMBERS = (
    "Every student has other numbers. Wrong answers stand together where they are the same letters or number, the "
    "same of the student's own numbers, or off by the same amount or factor, each within what would pass; numbers "
    "only "
    "where at least three agree and so many would hardly agree by chance (of 200 simulated classes of 30 wrong "
    "answers "
    "that lay anywhere, none had such a group)."
)


def _text(words: str) -> str:
    """Escape a text, and let its bold words and typed ones stand out."""
    safe = html.escape(words, quote=True)
    safe = re.sub(r"\*\*([^*]+)\*\*", r"<b>\1</b>", safe)
    return re.sub(r"`([^`]+)`", r"<code>\1</code>", safe)


def _short(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _share(value: float) -> str:
    return f"{100.0 * value:.0f} %"


def page(look: Look, command: Callable[[str, str, Answer], str], file: str, marked: str) -> str:
    """Make the page.

    Parameters
    ----------
    look : Look
        What is told.
    command : callable
        From question, part and answer, what is typed for a comment to everyone with it.
    file : str
        Where these comments are kept.
    marked : str
        When the page was made, in words.

    Returns
    -------
    str
        HTML.
    """
    handed_in = len(look.students) + len(look.no_mark)
    parts = [
        f"<h1>What the class knows: {_text(look.title)}</h1>",
        f"<p class='soft'>{_text(_handed_in(look, handed_in))} Made {_text(marked)}. For the instructor: it names "
        "students."
        "</p>",
        *_first(look),
        *_marks(look),
        *_questions(look),
        *_stuck(look),
        *_wrong_answers(look, command),
        *_comments(look, file),
        f"<h2>How the figures are made</h2><p>{_HOW}</p><p>{_NUMBERS}</p>",
        f"<p>{_text(_known(look))}</p>",
        "<p class='soft'>Training aid with invented data. Not for navigation.</p>",
    ]
    return (
        "<!DOCTYPE html>\n<html lang='en'><head><meta charset='utf-8'>"
        "<meta name='viewport' content='width=device-width, initial-scale=1'>"
        f"<title>What the class knows: {_text(look.title)}</title><style>{_STYLE}</style></head>\n<body><main>\n"
        + "\n".join(parts)
        + "\n</main></body></html>\n"
    )


def _handed_in(look: Look, handed_in: int) -> str:
    said = f"{handed_in} handed in, {len(look.students)} with a mark."
    if look.late:
        came = "one hand-in that came" if look.late == 1 else f"{look.late} hand-ins that came"
        said += f" The marks here are before anything was taken off for {came} late."
    return said + (f" Nothing came from {len(look.missing)} on the class list." if look.missing else "")


def _first(look: Look) -> Iterable[str]:
    yield "<h2>First of all</h2>"
    told = [
        f"<li class='{kind}'><span class='what'>{_WORDS[kind]}</span> {_text(text)}</li>" for kind, text in look.first
    ]
    if told:
        yield f"<ul class='first'>{''.join(told)}</ul>"
    elif look.judged:
        known = any(one.together.r is not None for one in look.asked)
        rest = "no question goes against the rest, and " if known else ""
        yield f"<p>Nothing stands out: {rest}no mistake is made by three in ten.</p>"
    for text in look.cannot:
        yield f"<p><b>Cannot be told.</b> {_text(text)}</p>"


def _marks(look: Look) -> Iterable[str]:
    yield "<h2>Marks</h2>"
    if not look.marks or look.out_of <= 0:
        yield "<p>Nobody has a mark yet.</p>"
        return
    steps = items.groups(look.marks, look.out_of)
    said = marks_sentence(look)
    yield f"<figure>{_histogram(steps, said)}<figcaption>{_text(said)}</figcaption></figure>"
    rows = "".join(f"<tr><td>{_short(a)} to {_short(b)}</td><td class='n'>{n}</td></tr>" for a, b, n in steps)
    yield (
        "<details><summary>The same as a table</summary><table><tr><th>marks</th><th class='n'>students</th></tr>"
        f"{rows}</table></details>"
    )


def marks_sentence(look: Look) -> str:
    """Say how the marks lie."""
    told = items.summary(look.marks)
    if len(look.marks) == 1:
        return f"One student has {_short(look.marks[0])} of {_short(look.out_of)} marks."
    if told["least"] == told["greatest"]:
        return f"All {len(look.marks)} have {_short(told['mean'])} of {_short(look.out_of)} marks."
    return (
        f"The mean is {_short(told['mean'])} of {_short(look.out_of)} marks; half of the {len(look.marks)} have "
        f"{_short(told['lower'])} to {_short(told['upper'])}, the lowest {_short(told['least'])}, the highest "
        f"{_short(told['greatest'])}."
    )


def _histogram(steps: Sequence[tuple[float, float, int]], said: str) -> str:
    wide, high, foot = 60, 130, 30
    most = max(n for _, _, n in steps) or 1
    bars = []
    for number, (start, end, count) in enumerate(steps):
        tall = high * count / most
        left = 10 + number * wide
        bars.append(
            f"<rect class='bar' x='{left}' y='{20 + high - tall:.1f}' width='{wide - 6}' height='{tall:.1f}'/>"
        )
        bars.append(
            f"<text x='{left + wide / 2 - 3}' y='{14 + high - tall:.1f}' text-anchor='middle'>{count or ''}</text>"
        )
        bars.append(f"<text x='{left - 3}' y='{high + 38}'>{_short(start)}</text>")
        last = end
    bars.append(f"<text x='{10 + len(steps) * wide - 3}' y='{high + 38}'>{_short(last)}</text>")
    size = f"0 0 {len(steps) * wide + 50} {high + foot + 16}"
    axis = f"<line class='axis' x1='7' x2='{10 + len(steps) * wide}' y1='{high + 20}' y2='{high + 20}'/>"
    return _picture(size, "How many students have how many marks. " + said, "".join(bars) + axis)


def _picture(size: str, said: str, drawn: str) -> str:
    wide = size.split()[2]
    return (
        f"<svg viewBox='{size}' width='{wide}' role='img' aria-label='{html.escape(said, quote=True)}'>{drawn}</svg>"
    )


def _questions(look: Look) -> Iterable[str]:
    yield "<h2>Questions</h2>"
    if not look.students:
        yield "<p>Nobody has a mark yet.</p>"
        return
    drawn = [one for one in look.asked if one.shares is not None]
    if drawn:
        said = hard_sentence(look)
        yield f"<figure>{_how_hard(drawn, said)}<figcaption>{_text(said)}</figcaption></figure>"
    told = [one for one in look.asked if one.together.r is not None]
    if told:
        said = together_sentence(look)
        yield f"<figure>{_with_rest(told, said)}<figcaption>{_text(said)}</figcaption></figure>"
    if not told and look.asked:
        why = " or ".join(dict.fromkeys(one.together.why for one in look.asked))
        yield f"<p>How a question goes with the rest cannot be told: {_text(why)}.</p>"
    timed = any(one.hints is not None or one.minutes is not None for one in look.asked)
    head = (
        "<tr><th>question</th><th class='n'>answered</th><th class='n'>right</th><th class='n'>marks</th>"
        f"{'<th>with the rest</th>' if told else ''}<th>named mistakes</th>"
    )
    head += "<th>hints</th><th class='n'>minutes</th></tr>" if timed else "</tr>"
    rows = "".join(_row(look, one, bool(told), timed) for one in look.asked)
    yield f"<div class='wide' tabindex='0' role='region' aria-label='Questions'><table>{head}{rows}</table></div>"


def hard_sentence(look: Look) -> str:
    """Say which questions are hard."""
    found = sorted((one.shares[1], one.title) for one in look.asked if one.shares is not None)
    if len(found) < 2 or found[-1][0] - found[0][0] < 0.01:
        return "Share of the marks in each question."
    ends = [
        (word, [title for share, title in found if abs(share - end) < 0.005], end)
        for word, end in (("hardest", found[0][0]), ("easiest", found[-1][0]))
    ]
    return "Share of the marks in each question. " + " ".join(
        f"The {word} is “{titles[0]}” with {_share(share)}."
        if len(titles) == 1
        else f"{len(titles)} questions are the {word}, with {_share(share)} each."
        for word, titles, share in ends
    )


def together_sentence(look: Look) -> str:
    """Say which questions do not go with the rest."""
    bad = [f"“{one.title}”" for one in look.asked if one.together.suspect]
    said = (
        "How each question goes with the rest, from −1 to +1. At +1 those who know the rest know this question too; "
        "at 0 they do no better in it than others; below 0 they do worse, and then something may be wrong with the "
        "question. A dot for each, and a line for how far it may be off by chance (95 %). "
    )
    if bad:
        return said + f"Surely below the others: {', '.join(bad)}."
    return said + "Of none can it be said for certain that it does not go with the others."


def _how_hard(asked: Sequence[Asked], said: str) -> str:
    drawn = []
    for number, one in enumerate(asked):
        _, mean = one.shares or (0.0, 0.0)
        top = 4 + 24 * number
        drawn.append(f"<text x='0' y='{top + 14}'>{_text(_cut(one.title))}</text>")
        drawn.append(f"<rect class='rest' x='300' y='{top + 2}' width='300' height='15'/>")
        drawn.append(f"<rect class='bar' x='300' y='{top + 2}' width='{300 * mean:.1f}' height='15'/>")
        drawn.append(f"<text x='608' y='{top + 14}'>{_share(mean)}</text>")
    return _picture(f"0 0 660 {8 + 24 * len(asked)}", said, "".join(drawn))


def _with_rest(asked: Sequence[Asked], said: str) -> str:
    def at(r: float) -> float:
        return 460.0 + 160.0 * r

    high = 24 * len(asked)
    drawn = [f"<line class='axis' x1='{at(r)}' x2='{at(r)}' y1='0' y2='{high}'/>" for r in (-1, 0, 1)]
    drawn += [
        f"<text x='{at(r)}' y='{high + 16}' text-anchor='middle'>{sign}1</text>" for r, sign in ((-1, "−"), (1, "+"))
    ]
    drawn.append(f"<text x='{at(0)}' y='{high + 16}' text-anchor='middle'>0</text>")
    for number, one in enumerate(asked):
        r, low, high_end = (each or 0.0 for each in (one.together.r, one.together.low, one.together.high))
        top = 12 + 24 * number
        kind = "bad" if one.together.suspect else "good"
        mark = " ▲" if one.together.suspect else ""
        drawn.append(
            f"<g class='{kind}'><text x='0' y='{top + 4}'>{_text(_cut(one.title))}{mark}</text>"
            f"<line class='line' x1='{at(low):.1f}' x2='{at(high_end):.1f}' y1='{top}' y2='{top}'/>"
            f"<circle class='dot' cx='{at(r):.1f}' cy='{top}' r='5'/></g>"
        )
    return _picture(f"0 0 660 {high + 22}", said, "".join(drawn))


def _cut(title: str) -> str:
    return title if len(title) <= 42 else f"{title[:41]}…"


def _row(look: Look, one: Asked, with_rest: bool, timed: bool) -> str:
    count = len(look.students)
    answered = "not known" if one.answered is None else f"{one.answered} of {count}"
    right, mean = ("-", "-") if one.shares is None else (_share(one.shares[0]), _share(one.shares[1]))
    mistakes = "; ".join(_mistakes(place, one) for place in one.places if place.mistakes) or "none"
    if one.by_person:
        mistakes = "marked by a person"
    hints = "not known"
    if one.hints is not None:
        taken, mean_hints, known = one.hints
        hints = f"taken by {taken} of {known}, {_short(mean_hints)} each" if taken else f"none taken, of {known}"
    minutes = "not known" if one.minutes is None else f"{_short(one.minutes[1])} (of {one.minutes[0]})"
    title = _text(one.title)
    if any(place.mistakes or place.groups or place.alone for place in one.places):
        title = f"<a href='#{_text(one.name)}'>{title}</a>"
    goes = f"<td>{_together(one)}</td>" if with_rest else ""
    of_time = f"<td>{hints}</td><td class='n'>{minutes}</td>" if timed else ""
    return (
        f"<tr><td>{title}<br><span class='soft'>{_text(one.name)}, {_short(one.points)} "
        f"{'mark' if one.points == 1 else 'marks'}</span></td><td class='n'>{answered}</td><td class='n'>{right}</td>"
        f"<td class='n'>{mean}</td>{goes}<td>{mistakes}</td>{of_time}</tr>"
    )


def _together(one: Asked) -> str:
    told = one.together
    if told.r is None or told.low is None or told.high is None:
        return f"<span class='soft'>cannot be told: {_text(told.why)}</span>"
    return f"{told.r:+.2f}<br><span class='soft'>{told.low:+.2f} to {told.high:+.2f}</span>"


def _mistakes(place: Place, one: Asked) -> str:
    where = f"{place.said}: " if place.label and len(one.places) > 1 else ""
    told = ", ".join(
        f"{_shortly(mistake)} {share_of(len(mistake.students), place.answered)}" for mistake in place.mistakes
    )
    return _text(where + told)


def _shortly(mistake: Mistake) -> str:
    said = in_words(mistake.code)
    words = textwrap.shorten(first_words(mistake), _LETTERS, placeholder=" …")
    return said or (f"“{words}”" if words else mistake.code)


def _wrong_answers(look: Look, command: Callable[[str, str, Answer], str]) -> Iterable[str]:
    yield "<h2>Wrong answers, put together</h2>"
    shown = False
    for one in look.asked:
        lines = [line for place in one.places for line in _of_place(look, one, place, command)]
        if lines:
            shown = True
            yield f"<h3 id='{_text(one.name)}'>{_text(one.title)}</h3><ul>{''.join(lines)}</ul>"
    if not shown:
        yield "<p>There are no wrong answers of which anything is known.</p>"
        return
    yield (
        "<p class='type-this'>A comment is typed once and reaches everyone with that answer, on the page handed "
        "back; put "
        "yours in place of the last words.</p>"
    )


def _of_place(look: Look, one: Asked, place: Place, command: Callable[[str, str, Answer], str]) -> Iterable[str]:
    where = f"<b>{_text(place.said)}</b>: " if place.label else ""
    single = [mistake for mistake in place.mistakes if len(mistake.students) == 1]
    for mistake in (each for each in place.mistakes if len(each.students) > 1):
        said = told_as(mistake)
        whole = mistake.text if mistake.text and f"“{mistake.text}”" not in said else ""
        quoted = f" Told one of them: “{_text(whole)}”" if whole else ""
        typed = command(one.name, place.label, Answer("mistake", mistake.code.split("+")[0]))
        gave = f" ({_text(chosen(mistake))})" if chosen(mistake) else ""
        yield (
            f"<li>{where}{share_of(len(mistake.students), place.answered)} {_text(said)}{gave}.{quoted}"
            f"{_who(look, mistake.students, typed)}</li>"
        )
    if single:
        lines = "".join(f"<li>{_text(look.name(each.students[0]))}: {_single(each)}</li>" for each in single)
        yield (
            f"<li>{where}{share_of(len(single), place.answered)} made a named mistake that nobody else made."
            f"<details><summary>Who, and what</summary><ul>{lines}</ul></details></li>"
        )
    for group in place.groups:
        away = group.in_tolerances
        far = f" That is {away:.0f} times what passes." if away is not None and away >= 1 else ""
        students = [each.student for each in group.given]
        # Each example once; the same letters, which are named before, are none.
        examples = [each for each in dict.fromkeys(map(_beside, group.given)) if each != group.answer.value][:3]
        for_example = f" For example {_text(', '.join(examples))}." if examples else ""
        yield (
            f"<li>{where}{share_of(len(students), place.answered)} have no named mistake, and the same answer: they "
            f"{_text(group.in_words)}.{far}{for_example}"
            f"{_who(look, students, command(one.name, place.label, group.answer))}</li>"
        )
    if place.alone:
        lines = "".join(f"<li>{_text(look.name(each.student))}: {_text(_beside(each))}</li>" for each in place.alone)
        yield (
            f"<li>{where}{share_of(len(place.alone), place.answered)} {_alone(place)}."
            f"<details><summary>Who, and what</summary><ul>{lines}</ul></details></li>"
        )


def _single(mistake: Mistake) -> str:
    """Say what one student did, and was told."""
    said = in_words(mistake.code)
    told = f"“{mistake.text}”" if mistake.text else "" if said else f"the mistake {mistake.code}"
    return _text(" ".join(filter(None, (f"{said}." if said else "", told))))


def _alone(place: Place) -> str:
    """Say what those did of whom each is alone: a goal of a flight has no answer of its own, and is met or not."""
    goal = all(not each.said and each.outcome != "ERROR" for each in place.alone)
    return "did not meet this" if goal else "gave a wrong answer that nobody else gave"


def _beside(each: Given) -> str:
    """Write an answer, and what is right for this student as finely as it is judged."""
    said = each.said or (f"“{each.text}”" if each.text else "nothing that could be read")
    if each.right is None:
        return said
    if each.circle and each.unit.startswith("degrees") and each.within >= 0.5:
        return f"{said} where {each.right % 360.0 or 360.0:03.0f} is right"
    decimals = max(0, math.ceil(-math.log10(each.within))) if each.within > 0 else 2
    return f"{said} where {each.right:,.{decimals}f} is right"


def _who(look: Look, students: Sequence[str], line: str) -> str:
    names = ", ".join(_text(look.name(student)) for student in students)
    typed = ""
    if line:
        typed = f"<p class='type-this'>A comment to all of them: <code>{html.escape(line)}</code></p>"
    return f"<details><summary>Who, and a comment to all of them</summary>{names}{typed}</details>"


def _stuck(look: Look) -> Iterable[str]:
    yield "<h2>Who is stuck</h2>"
    if not look.stuck:
        yield (
            "<p>Nobody of those who handed in, by what the marks tell.</p>"
            if look.students
            else "<p>Cannot be told.</p>"
        )
    else:
        rows = "".join(
            f"<tr><td>{_text(one.student)}</td><td class='n'>{_short(one.mark or 0.0)} of {_short(look.out_of)}</td>"
            f"<td>{_text('; '.join(one.why))}</td></tr>"
            for one in look.stuck
        )
        yield f"<table><tr><th>student</th><th class='n'>mark</th><th>what is seen</th></tr>{rows}</table>"
    if look.empty:
        yield (
            f"<h3>An empty file</h3><p>{_text(', '.join(look.empty))}: no answer is in it. Ask for the right file; "
            "perhaps it was not saved.</p>"
        )
    if look.code:
        lines = "".join(f"<li>{_text(name)}: {_text('; '.join(did))}</li>" for name, did in look.code)
        yield (
            "<h3>Code, and no answer</h3><p>Something is typed into answer cells of these files, and no answer came "
            f"of it. Look at what it was meant to be.</p><ul>{lines}</ul>"
        )
    if look.no_mark:
        lines = "".join(f"<li>{_text(name)}: {_text(why)}</li>" for name, why in look.no_mark)
        yield f"<h3>No mark yet</h3><ul>{lines}</ul>"
    if look.missing:
        yield f"<h3>Nothing handed in</h3><p>{_text(', '.join(look.missing))}</p>"


def _comments(look: Look, file: str) -> Iterable[str]:
    yield "<h2>Comments to everyone with one answer</h2>"
    if look.comments:
        rows = "".join(
            f"<tr><td>{_text(each.question)}{_text(': ' + each.part) if each.part else ''}</td>"
            f"<td>{_text(str(each.answer))}</td><td>{_text(each.text)}</td><td class='n'>{reached}</td></tr>"
            for each, reached in look.comments
        )
        yield (
            "<table><tr><th>question</th><th>answer</th><th>comment</th><th class='n'>reaches</th></tr>"
            f"{rows}</table>"
        )
    yield (
        f"<p>They are kept in <code>{html.escape(file)}</code>, a table with the columns question, part, answer "
        "and comment "
        "that you may edit in a spreadsheet or a text program. They stay when work is marked again, and reach those "
        "who hand in later. Hand back anew after a change.</p>"
    )


def _known(look: Look) -> str:
    hints = sum(one.hints is not None for one in look.asked)
    minutes = sum(one.minutes is not None for one in look.asked)
    return (
        f"Hints are known for {hints} of {len(look.asked)} questions and minutes for {minutes}: only where a "
        "hand-in was worked "
        "on the page of the course, and as the notebook tells it, which anyone can change. Minutes are from one "
        "answer "
        "checked to the next, the middle of the class; breaks of more than half an hour are left out. Nothing else "
        "of how "
        "somebody worked comes with a notebook."
    )


_COLUMNS = (
    "question",
    "part",
    "title",
    "what",
    "count",
    "of",
    "share",
    "low",
    "high",
    "students",
)


def table(look: Look) -> str:
    """Make the same as CSV, one row a figure.

    Parameters
    ----------
    look : Look
        What is told.

    Returns
    -------
    str
        CSV: ``question``, ``part``, ``title``, ``what`` (``answered``, ``right``, ``marks``, ``with the rest``, a
        named mistake, wrong answers that are the same), ``count``, ``of``, ``share`` (with the rest: the
        correlation), ``low`` and ``high`` of its interval, and ``students``.
    """
    text = io.StringIO()
    writer = csv.DictWriter(text, _COLUMNS, restval="")
    writer.writeheader()
    count = len(look.students)
    for one in look.asked:
        row = {"question": one.name, "title": one.title}
        if one.answered is not None:
            writer.writerow(row | _figure("answered", one.answered, count))
        if one.shares is not None:
            right = round(one.shares[0] * count)
            writer.writerow(row | _figure("right", right, count))
            writer.writerow(row | {"what": "marks", "of": count, "share": f"{one.shares[1]:.4f}"})
        told = one.together
        if told.r is not None:
            ends = {"low": f"{told.low:.4f}", "high": f"{told.high:.4f}"}
            writer.writerow(row | {"what": "with the rest", "of": count, "share": f"{told.r:.4f}"} | ends)
        for place in one.places:
            here = row | {"part": place.label}
            for mistake in place.mistakes:
                said = _figure(f"mistake {mistake.code}", len(mistake.students), place.answered)
                writer.writerow(here | said | {"students": " ".join(mistake.students)})
            for group in place.groups:
                said = _figure(str(group.answer), len(group.given), place.answered)
                writer.writerow(here | said | {"students": " ".join(each.student for each in group.given)})
    return text.getvalue()


def _figure(what: str, some: int, of: int) -> dict[str, object]:
    return {"what": what, "count": some, "of": of, "share": f"{some / of:.4f}" if of else ""}
