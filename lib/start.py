"""Install the course into its own folder and start it: ``python3 lib/start.py open``.

Plain Python with nothing but its standard library, so that it runs before anything is installed. The
first word says what to do:

    open     the course in JupyterLab (and every other command of ``needlework``: ``desk``, ``release``, ...)
    test     install what the tests need as well, check style, types and floors, and run the whole suite
             (more words go to pytest, which then runs alone)
    pack     keep the packages beside the course, in ``.packages``: the folder can then be copied, to a stick for
             example, and be opened without a network on machines of the same system and the same 3.x of Python
    lock     refresh the two lists of pinned packages from pyproject.toml (needs ``uv``)

Everything goes into ``.venv`` beside this checkout. What is installed is pinned by hash in
``lib/requirements.lock`` (the course) and ``lib/requirements-tests.lock`` (course and tests).
"""

import contextlib
import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

OLDEST = (3, 11)
ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
STAMP = VENV / "needlework-start.json"
PACKED = ROOT / ".packages"
PACKED_LIST = "packed.txt"
WINDOWS = os.name == "nt"
LOCKS = {"course": ROOT / "lib" / "requirements.lock", "tests": ROOT / "lib" / "requirements-tests.lock"}
# Bytes on the disk: what an installation takes, and with less than which one that broke off did so for want of them.
ROOM, FULL = 700e6, 100e6
# How often is said how far an installation is, and how many packages an empty environment may hold.
TELL_S, FIRST = 20.0, 3
EXTRAS = {"course": ("desk", "authors"), "tests": ("tests",)}
CHECKS = (
    ("style", ("ruff", "check", "--quiet", "lib", "tests", "solutions")),
    ("format", ("ruff", "format", "--quiet", "--check", "lib", "tests", "solutions")),
    ("types", ("mypy", "--no-error-summary")),
    ("floors", ("lint-imports", "--no-cache")),
)


class CannotStart(Exception):
    """Something the user must do first; its text is one sentence."""


def say(text):
    """Tell the user what takes the time."""
    print("needlework: " + text, file=sys.stderr, flush=True)


def venv_program(name):
    """Path of a program inside the course's own environment."""
    return str(VENV / ("Scripts" if WINDOWS else "bin") / (name + (".exe" if WINDOWS else "")))


def newer_python():
    """Another interpreter on this machine that is new enough, or None."""
    for minor in range(20, OLDEST[1] - 1, -1):
        found = shutil.which("python3." + str(minor))
        if found and subprocess.run([found, "-c", ""], capture_output=True).returncode == 0:
            return found
    return None


def fingerprint(kind):
    """What an installation depends on: the lock, the package's own declaration, the interpreter and the place."""
    parts = [LOCKS[kind].read_bytes(), (ROOT / "pyproject.toml").read_bytes()]
    parts += [str(ROOT).encode(), sys.version.encode()]
    digest = hashlib.sha256()
    for part in parts:
        digest.update(hashlib.sha256(part).digest())
    return digest.hexdigest()


def read_stamp():
    """What the last installation left: ``{}`` if it never finished, None if the folder is not ours."""
    try:
        stamp = json.loads(STAMP.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return None
    except ValueError:
        return {}
    return stamp if isinstance(stamp, dict) else {}


def write_stamp(stamp):
    """Replace the stamp in one step, so that a crash leaves the old one or the new one."""
    partial = STAMP.with_suffix(".part")
    partial.write_text(json.dumps(stamp), encoding="utf-8")
    os.replace(str(partial), str(STAMP))


@contextlib.contextmanager
def one_at_a_time():
    """Let a second start wait for the first instead of installing over it."""
    name = "needlework-" + hashlib.sha256(str(ROOT).encode()).hexdigest()[:16] + ".lock"
    with open(os.path.join(tempfile.gettempdir(), name), "a+") as held:
        if WINDOWS:
            import msvcrt

            def take(block):
                held.seek(0)
                msvcrt.locking(held.fileno(), msvcrt.LK_LOCK if block else msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            def take(block):
                fcntl.flock(held, fcntl.LOCK_EX if block else fcntl.LOCK_EX | fcntl.LOCK_NB)

        try:
            take(False)
        except OSError:
            say("the course is being installed by another start; waiting for it.")
            take(True)
        yield


def run(command, **options):
    """Run one step of the installation and say whether it worked; its output goes to the user's screen."""
    try:
        return subprocess.run(command, cwd=str(ROOT), stdout=sys.stderr, **options).returncode == 0
    except OSError:
        return False


def has_venv():
    """Whether this Python can make environments with pip in them (Debian splits that off)."""
    return subprocess.run([sys.executable, "-c", "import ensurepip, venv"], capture_output=True).returncode == 0


def fetch_venv_support():
    """On Debian, as root, install what Debian's Python lacks; otherwise say what to type."""
    package = "python{}.{}-venv".format(*sys.version_info)
    if not shutil.which("apt-get"):
        raise CannotStart(
            "this Python has no 'venv' and 'ensurepip': install Python {}.{} or newer with both, "
            "or install 'uv', and start again.".format(*OLDEST)
        )
    if os.geteuid() != 0:
        raise CannotStart(
            "this Python cannot make environments: type 'sudo apt-get install " + package + "' and start again."
        )
    say("this Debian has no " + package + "; installing it with apt-get.")
    environment = dict(os.environ, DEBIAN_FRONTEND="noninteractive")
    run(["apt-get", "update", "-qq"], env=environment)
    if not run(["apt-get", "install", "-y", "-qq", "--no-install-recommends", package], env=environment):
        raise CannotStart("apt-get could not install " + package + ": install it by hand and start again.")


def packed_for(kind):
    """What packed wheels fit: the list they come from, and the Python they are for."""
    return [kind, hashlib.sha256(LOCKS[kind].read_bytes()).hexdigest(), list(sys.version_info[:2])]


def packages(kind):
    """What is installed: wheels packed beside the course, where they fit the lock, or what the lock names."""
    wanted = ["--require-hashes", "--no-deps", "-r", str(LOCKS[kind])]
    try:
        held = json.loads((PACKED / "packed.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return wanted
    if held != packed_for(kind):
        if held[:2] == packed_for(kind)[:2]:
            told = "the packages beside the course are for Python {}.{}, this is {}.{}."
            say(told.format(*held[2], *sys.version_info))
        return wanted
    return ["--no-index", "--no-deps", "--find-links", str(PACKED), "-r", str(PACKED / PACKED_LIST)]


def pinned(kind):
    """The entries of a list: what is pinned, the condition behind it or nothing, and the hashes."""
    for entry in re.split(r"\n(?=\S)", LOCKS[kind].read_text(encoding="utf-8").strip()):
        what, *hashes = entry.replace("\\\n", " ").split(" --hash=")
        name, _, condition = what.partition(";")
        yield name.strip(), condition.strip(), ["--hash=" + each.strip() for each in hashes]


def pack():
    """Fetch every package of the course into a folder beside it, for every patch of this Python that it names."""
    python = venv_program("python")
    if not run([python, "-m", "pip", "--version"]) and not run([python, "-m", "ensurepip"]):
        raise CannotStart("this environment has no 'pip': delete the folder .venv and start again without 'uv'.")
    fetch = [python, "-m", "pip", "wheel", "--quiet", "--disable-pip-version-check", "--wheel-dir", str(PACKED)]
    fetch += ["--require-hashes", "--no-deps", "-r"]
    shutil.rmtree(str(PACKED), ignore_errors=True)
    fetched = run([*fetch, str(LOCKS["course"])])
    patches = "python_full_version", "{}.{}.".format(*sys.version_info)
    for name, condition, hashes in pinned("course"):
        wheel = name.replace("-", "_").replace("==", "-") + "-*.whl"
        if fetched and all(word in condition for word in patches) and not list(PACKED.glob(wheel)):
            one = PACKED / PACKED_LIST
            one.write_text(" ".join([name, *hashes]) + "\n", encoding="utf-8")
            fetched = run([*fetch, str(one), "--ignore-requires-python"])
    if not fetched:
        raise CannotStart("the packages could not be fetched (the reason is above): check the network, start again.")
    lines = [name + (" ; " + condition if condition else "") + "\n" for name, condition, _ in pinned("course")]
    (PACKED / PACKED_LIST).write_text("".join(lines), encoding="utf-8")
    (PACKED / "packed.json").write_text(json.dumps(packed_for("course")), encoding="utf-8")
    say(
        "packed into "
        + str(PACKED)
        + ": copy this whole folder; 'open' in the copy needs no network "
        "where the system is the same and the Python is a {}.{}.".format(*sys.version_info[:2])
    )


def with_uv(kind):
    """Make and fill the environment with uv, which is quick; False if there is no uv or it fails."""
    uv = shutil.which("uv")
    if not uv or subprocess.run([uv, "--version"], capture_output=True).returncode != 0:
        return False
    python = venv_program("python")
    into = [uv, "pip", "install", "--quiet", "--python", python]
    return (
        (Path(python).exists() or run([uv, "venv", "--quiet", "--allow-existing", "-p", sys.executable, str(VENV)]))
        and run([*into, *packages(kind)])
        and run([*into, "--no-build-isolation", "--no-deps", "-e", str(ROOT)])
    )


def with_pip(kind):
    """Make and fill the environment with Python's own venv and pip."""
    python = venv_program("python")
    if not has_venv():
        fetch_venv_support()
    into = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    if kind == "tests":
        # They keep what they compile elsewhere: compiling all packages is a third of the time, and nobody reads it.
        into.append("--no-compile")
    return (
        run([sys.executable, "-m", "venv", str(VENV)])
        and run([*into, *packages(kind)])
        and run([*into, "--no-build-isolation", "--no-deps", "-e", str(ROOT)])
    )


@contextlib.contextmanager
def telling(kind):
    """Say now and then how far an installation is: what installs is quiet for minutes."""
    done, began, many = threading.Event(), time.time(), sum(1 for _ in pinned(kind))

    def tell():
        while not done.wait(TELL_S):
            places = "lib/python*/site-packages/*.dist-info", "Lib/site-packages/*.dist-info"
            there = max(len(list(VENV.glob(place))) for place in places)
            how = "the packages are being fetched"
            # The first ones are what installs the others.
            if there > FIRST:
                how = f"{min(there, many)} of about {many} packages are in place"
            say(f"{time.time() - began:.0f} seconds: {how}.")

    teller = threading.Thread(target=tell, daemon=True)
    teller.start()
    try:
        yield
    finally:
        done.set()
        teller.join()


def need_room(least):
    """Say so where the disk has less room than this; a first installation takes the most."""
    free = shutil.disk_usage(str(ROOT)).free
    if free < least:
        told = "the disk with " + str(ROOT) + " is full: " + str(round(free / 1e6)) + " MB are free, "
        raise CannotStart(told + str(round(ROOM / 1e6)) + " MB are needed. Make room and start again.")


def install(kind):
    """Bring the environment up to date; does nothing when it is."""
    stamp = read_stamp()
    wanted = fingerprint(kind)
    if stamp and stamp.get(kind) == wanted:
        return
    with one_at_a_time():
        stamp = read_stamp()
        if stamp and stamp.get(kind) == wanted:
            return
        if stamp is None and VENV.exists() and any(VENV.iterdir()):
            raise CannotStart(
                "the folder " + str(VENV) + " was not made by this course: move it away and start again."
            )
        if stamp == {} or (stamp and stamp.get("place") != [str(ROOT), sys.version]):
            say("the last installation was interrupted or is from elsewhere; starting it afresh.")
            shutil.rmtree(str(VENV))
        say("installing into " + str(VENV) + " (about 500 MB, a minute or two; only the first time).")
        # What is there already needs room for a few packages only.
        need_room(FULL if VENV.exists() else ROOM)
        try:
            VENV.mkdir(exist_ok=True)
            write_stamp({})
        except OSError as error:
            why = "nothing can be written in the folder " + str(ROOT) + " (" + str(error.strerror or error)
            raise CannotStart(why + "): put the course into a folder of your own and start again.") from error
        with telling(kind):
            installed = with_uv(kind) or with_pip(kind)
        if not installed:
            need_room(FULL)
            raise CannotStart(
                "the packages could not be fetched (the reason is above): the first start needs the network; "
                "connect this computer and start again."
            )
        finished = {"place": [str(ROOT), sys.version], kind: wanted}
        if kind == "tests":
            finished["course"] = fingerprint("course")
        write_stamp(finished)


def refresh_locks():
    """Pin the newest packages that pyproject.toml allows, for every system, with their hashes."""
    if not shutil.which("uv"):
        raise CannotStart("refreshing the lists needs 'uv': install it with 'pip install uv' and start again.")
    compiling = ["uv", "pip", "compile", "--quiet", "--universal", "--generate-hashes", "--no-emit-index-url"]
    compiling += ["--no-header", "--no-annotate", "--python-version", "{}.{}".format(*OLDEST), "--upgrade"]
    extras = {kind: [word for extra in EXTRAS[kind] for word in ("--extra", extra)] for kind in LOCKS}
    tests = [*compiling, *extras["tests"], "pyproject.toml", "-o", str(LOCKS["tests"])]
    course = [*compiling, *extras["course"], "-c", str(LOCKS["tests"]), "pyproject.toml", "-o", str(LOCKS["course"])]
    if not run(tests) or not run(course):
        raise CannotStart("uv could not pin the packages (the reason is above).")
    say("wrote " + LOCKS["course"].name + " and " + LOCKS["tests"].name + "; run the tests before committing them.")


def inside():
    """Environment variables with which a program finds the course's own environment first."""
    environment = dict(os.environ)
    environment["PATH"] = str(Path(venv_program("python")).parent) + os.pathsep + environment.get("PATH", "")
    environment["VIRTUAL_ENV"] = str(VENV)
    environment.pop("PYTHONHOME", None)
    return environment


def hand_over(command):
    """Become the installed program."""
    if not WINDOWS:
        os.execve(command[0], command, inside())
    try:
        return subprocess.call(command, env=inside())
    except KeyboardInterrupt:
        return 130


def complaints():
    """Run the checks that only read the code, say of each what came of it, and name those that complained."""
    failed = []
    for name, (program, *words) in CHECKS:
        done = subprocess.run(
            [venv_program(program), *words], env=inside(), stdout=subprocess.PIPE, stderr=subprocess.STDOUT
        )
        if done.returncode == 0:
            say(name + ": good (" + program + ").")
        else:
            failed.append(name)
            sys.stderr.write(done.stdout.decode(errors="replace"))
            say(name + ": the complaint of " + program + " is above.")
    return failed


def run_tests(words):
    """Check style, types and floors, then run every test; words choose tests, and those are then run alone."""
    os.chdir(str(ROOT))
    pytest = [venv_program("python"), "-m", "pytest", "-n", "3", "--dist", "loadgroup", "--no-loadscope-reorder"]
    if words:
        say("only pytest runs, as you gave words for it; 'test' alone checks style, types and floors as well.")
        return hand_over([*pytest, *words])
    failed = complaints()
    # Hundreds of processes load the course: what it compiles to is kept, and beside the environment, not in the tree.
    kept = dict(inside(), PYTHONPYCACHEPREFIX=str(VENV / "compiled"))
    kept.pop("PYTHONDONTWRITEBYTECODE", None)
    code = subprocess.call(pytest, env=kept)
    if failed:
        say("the tests are above; before them these complained: " + ", ".join(failed) + ".")
    return code or (1 if failed else 0)


def main(words):
    """Do what the first word says."""
    if sys.version_info < OLDEST:
        other = newer_python()
        if other:
            return subprocess.call([other, str(Path(__file__).resolve()), *words])
        raise CannotStart(
            "this is Python {}.{}, and the course needs {}.{} or newer: install it and start again with it.".format(
                *sys.version_info[:2], *OLDEST
            )
        )
    if not words or words[0] in ("-h", "--help"):
        print(__doc__)
        return 0 if words else 2
    if words[0] == "lock":
        refresh_locks()
        return 0
    if words[0] == "pack":
        install("course")
        pack()
        return 0
    if words[0] == "test":
        install("tests")
        return run_tests(words[1:])
    install("course")
    return hand_over([venv_program("python"), "-m", "needlework", *words])


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except CannotStart as reason:
        say(str(reason))
        sys.exit(2)
    except OSError as refused:
        say("this computer refused to go on (" + str(refused) + "): see to that and start again; nothing is lost.")
        sys.exit(2)
    except KeyboardInterrupt:
        say("stopped; nothing is lost, start again at any time.")
        sys.exit(130)
