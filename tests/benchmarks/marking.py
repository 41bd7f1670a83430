"""How long marking takes: seconds a hand-in, against nbgrader's serial autograde of the same files in the same run.

The class is made by ``tests/class_maker.py``, that is by the makers of the course: nine in ten hand-ins are plain,
the others have one to three cells of code. Real students' cells may differ. ``python tests/benchmarks/marking.py
[--students 200] [--serial 6] [--lesson station-passage] [--pages]``; run it on a quiet machine, where it takes about
four minutes. nbgrader marks a sample only, the first of the list. Processor time is that of all processes together:
where others use the machine, compare that.
"""

import argparse
import contextlib
import ctypes
import json
import os
import resource
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))


class Watch(threading.Thread):
    """Adds up the memory of a process and all it started, each shared page counted once: PSS [MB]."""

    def __init__(self, root):
        super().__init__(daemon=True)
        self.root, self.peak_mb, self.over = root, 0.0, threading.Event()

    def run(self):
        while not self.over.wait(0.25):
            self.peak_mb = max(self.peak_mb, sum(map(pss_mb, family(self.root))))

    def ended(self):
        self.over.set()
        self.join()
        return self.peak_mb


_SUBREAPER = 36
"""PR_SET_CHILD_SUBREAPER, prctl(2): what is left by a process that ended becomes this one's, so its time is told."""


def processor_s():
    """Give the processor time of this process and of all it started, once those have ended. [s]"""
    until = time.monotonic() + 10.0
    with contextlib.suppress(ChildProcessError):
        while time.monotonic() < until:
            if os.waitpid(-1, os.WNOHANG)[0] == 0:
                time.sleep(0.05)
    who = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
    return sum(each.ru_utime + each.ru_stime for each in who)


def family(root):
    parents = {}
    for entry in Path("/proc").glob("[0-9]*/stat"):
        try:
            parents[int(entry.parent.name)] = int(entry.read_text().rsplit(")", 1)[1].split()[1])
        except (OSError, IndexError):
            continue
    found, more = {root}, True
    while more:
        more = {child for child, parent in parents.items() if parent in found} - found
        found |= more
    return found


def pss_mb(process):
    try:
        lines = Path(f"/proc/{process}/smaps_rollup").read_text().splitlines()
        return sum(int(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1024
    except OSError:
        return 0.0


def serially(desk, key, students):
    """Let nbgrader's own Autograde mark hand-ins one after the other, as it comes; give the seconds and the marks."""
    from nbgrader.api import Gradebook
    from nbgrader.converters import Autograde
    from nbgrader.coursedir import CourseDirectory
    from needlework.desk.book import nbgrader_at_work
    from needlework.desk.hand_in import _flights, parsed
    from needlework.desk.homework import settings_for
    from needlework.exercises import recording

    marks = {}
    flights = tempfile.TemporaryDirectory()
    os.environ["NEEDLEWORK_FLIGHTS"] = flights.name
    begun, worked = time.perf_counter(), processor_s()
    with nbgrader_at_work():
        for student in students:
            # nbgrader does not look for recordings in a notebook's outputs; they are laid where the cells look.
            for path in Path(flights.name).iterdir():
                path.unlink()
            work = parsed((desk.folder / "submitted" / student / key / f"{key}.ipynb").read_bytes())
            for name, text in _flights(work, []).items():
                Path(flights.name, f"{recording.slug(name)}-001.csv").write_text(text, encoding="utf-8", newline="\n")
            settings = settings_for(desk.folder)
            settings.CourseDirectory.assignment_id, settings.CourseDirectory.student_id = key, student
            course = CourseDirectory(config=settings)
            Autograde(coursedir=course, config=settings, force=True).start()
        seconds, work_s = time.perf_counter() - begun, processor_s() - worked
        with Gradebook(settings.CourseDirectory.db_url, "needlework") as gradebook:
            for student in students:
                book = gradebook.find_submission_notebook(key, key, student)
                marks[student] = {grade.name: round(grade.score, 6) for grade in book.grades}
    return seconds, work_s, marks


def typed(verb, key, desk):
    """Do a step of the desk by the command that an instructor types; give seconds, processor time and peak memory."""
    begun, worked = time.perf_counter(), processor_s()
    command = [sys.executable, "-m", "needlework", "desk", verb, key, "--desk", str(desk.folder)]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE) as step:
        watch = Watch(step.pid)
        watch.start()
        said = step.communicate()[1].decode()
    seconds = time.perf_counter() - begun
    if step.returncode not in (0, 1):
        raise SystemExit(said)
    return seconds, processor_s() - worked, watch.ended()


def measured(place, key, numbers, code, pages):
    """Hand out, collect, mark and, if wanted, hand back a class; give what it cost."""
    import class_maker
    from needlework.desk.homework import Desk

    desk = Desk(place / "desk")
    book = json.loads(desk.hand_out(key).read_text(encoding="utf-8"))
    class_maker.write_list(desk.folder, numbers)
    came = class_maker.write_class(place / "in", key, numbers, code=code, book=book)
    begun = time.perf_counter()
    desk.collect(key, came)
    collected_s = time.perf_counter() - begun
    marking = typed("mark", key, desk)
    handing = typed("hand-back", key, desk) if pages else None
    names = {name for name, _ in _questions(desk, key)}
    marks = {row["student"]: {name: row.get(name, 0.0) for name in names} for row in desk.marks(key)}
    return desk, marks, collected_s, marking, handing


def _questions(desk, key):
    source = json.loads((desk.folder / "source" / key / f"{key}.ipynb").read_text(encoding="utf-8"))
    for cell in source["cells"]:
        about = cell["metadata"].get("nbgrader", {})
        if about.get("grade"):
            yield about["grade_id"], about["points"]


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--students", type=int, default=200)
    parser.add_argument("--serial", type=int, default=6, help="how many of them nbgrader marks serially")
    parser.add_argument("--lesson", default="station-passage")
    parser.add_argument("--pages", action="store_true", help="hand back as well")
    parser.add_argument("--code", type=float, action="append", help="share with code of their own (0.1 and 1)")
    options = parser.parse_args()
    begun = time.perf_counter()
    ctypes.CDLL(None).prctl(_SUBREAPER, 1, 0, 0, 0)
    revision = subprocess.run(["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True).stdout.strip()
    print(f"{options.lesson}, {revision}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    for code in options.code or (0.1, 1.0):
        with tempfile.TemporaryDirectory() as place:
            numbers = range(options.students)
            desk, marks, collected_s, (marked_s, work_s, peak_mb), handing = measured(
                Path(place), options.lesson, numbers, code, options.pages and code < 1
            )
            each = marked_s / options.students
            print(f"{code:.0%} with code of their own, {options.students} hand-ins:")
            print(f"  collected in {collected_s:.1f} s, marked in {marked_s:.1f} s, {each:.3f} s each")
            print(
                f"  processor time {work_s:.1f} s, {work_s / options.students:.3f} s each;"
                f" load {os.getloadavg()[0]:.1f}"
            )
            print(f"  peak memory of all processes {peak_mb:.0f} MB (PSS)")
            if handing is not None:
                pages_s, _, pages_mb = handing
                each_s = pages_s / options.students
                print(f"  handed back in {pages_s:.1f} s, {each_s:.3f} s a page, {pages_mb:.0f} MB")
            some = sorted(marks)[: options.serial]
            if some:
                seconds, serial_work_s, serial = serially(desk, options.lesson, some)
                one = seconds / len(some)
                pairs = [(marks[s][name], serial[s][name]) for s in some for name in marks[s]]
                same = sum(abs(ours - theirs) < 0.006 for ours, theirs in pairs)
                print(f"  nbgrader serially {one:.2f} s each ({len(some)} of them): {one / each:.0f} times")
                work = serial_work_s / len(some) / (work_s / options.students)
                print(f"  processor time {serial_work_s / len(some):.2f} s each: {work:.0f} times, on one processor")
                print(f"  marks equal: {same} of {len(pairs)}")
                for s in some:
                    for name, ours in marks[s].items():
                        if abs(ours - serial[s][name]) >= 0.006:
                            print(f"    {s} {name}: here {ours:g}, serially {serial[s][name]:g}")
    print(f"all of it took {time.perf_counter() - begun:.0f} s")


if __name__ == "__main__":
    main()
