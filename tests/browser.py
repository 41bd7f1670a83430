"""A real JupyterLab in a real headless Chromium, for every test that must see what a learner sees.

Use it as::

    with lab(folder) as server, server.page("lesson.ipynb") as page:
        page.run_all()
        page.locator(".nw-board").wait_for()
        assert not page.complaints()

``page`` is Playwright's own page with a few helpers and with lists of console errors and outside requests.
Locally a missing browser skips the test; where CI is set it fails, because there it must be present.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlsplit

import nbformat
import pytest

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # A second page finds JupyterLab's scripts compiled by the first.
    "--process-per-site",
]
START_SECONDS = 240  # a machine with other work
CELL_SECONDS = 300
WAIT_MS = 90_000


def chromium_path() -> str | None:
    """Where Debian, or the user, has put a Chromium; first the one without windows, which takes a fifth less time."""
    wanted = os.environ.get("NEEDLEWORK_CHROMIUM")
    found = [wanted] if wanted else []
    names = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
    found += [shutil.which(name) for name in names]
    return next((path for path in found if path and Path(path).exists()), None)


def require_browser() -> str:
    """Return the browser's path; skip the test without one, or fail it where CI is set."""
    path = chromium_path()
    try:
        import playwright.sync_api  # noqa: F401
    except ImportError:
        path = None
    if path is None:
        message = "no Chromium for Playwright: install Debian's chromium and the tests extra"
        if os.environ.get("CI"):
            pytest.fail(message)
        pytest.skip(message)
    return path


def write_notebook(path: Path, *cells: str) -> Path:
    """Write a notebook of code cells, for tests that need one of their own."""
    book = nbformat.v4.new_notebook()
    book.metadata.kernelspec = {"name": "python3", "display_name": "Python 3", "language": "python"}
    book.cells = [nbformat.v4.new_code_cell(cell) for cell in cells]
    nbformat.write(book, path)
    return path


class Page:
    """A Playwright page on one notebook, with what a test of a notebook needs."""

    def __init__(self, page: Any, server: Lab) -> None:
        self._page, self._server = page, server
        self.errors: list[str] = []
        self.outside: list[str] = []
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on("request", self._request)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._page, name)

    def _console(self, message: Any) -> None:
        if message.type == "error":
            self.errors.append(message.text)

    def _request(self, request: Any) -> None:
        parts = urlsplit(request.url)
        if parts.scheme in ("http", "https", "ws", "wss") and parts.netloc != self._server.address:
            self.outside.append(request.url)

    def complaints(self) -> list[str]:
        """Console errors and requests to anywhere but the server; a good page has none."""
        return [*self.errors, *(f"outside request: {url}" for url in self.outside)]

    def command(self, name: str) -> None:
        """Run one of JupyterLab's own commands and wait until it has ended."""
        self._page.evaluate("name => window.jupyterapp.commands.execute(name).then(() => null)", name)

    def run_all(self) -> None:
        """Run every cell and wait for the last."""
        self._page.set_default_timeout(CELL_SECONDS * 1000)
        self.command("notebook:run-all-cells")
        self._page.set_default_timeout(WAIT_MS)

    def close_all(self) -> None:
        """Close every notebook in JupyterLab unsaved, and end what works it out."""
        self._page.evaluate(
            """async () => {
              for (const each of [...window.jupyterapp.shell.widgets('main')]) {
                await each.context?.sessionContext?.shutdown();
                if (each.context?.model) each.context.model.dirty = false;
                each.dispose();
              }
            }"""
        )

    def open(self, notebook: str) -> None:
        """Put another notebook in place of this one, in a JupyterLab that is loaded already."""
        self.close_all()
        self._page.evaluate(
            "path => window.jupyterapp.commands.execute('docmanager:open', { path }).then(() => null)", notebook
        )
        self.wait_for_function("() => window.jupyterapp.shell.currentWidget?.content?.widgets?.length")

    def at_rest(self) -> None:
        """Wait until nothing of the notebook has moved from one picture of the screen to the next, six times."""
        self._page.evaluate(
            """async () => {
              const { node } = window.jupyterapp.shell.currentWidget.content;
              const outer = node.querySelector('.jp-WindowedPanel-outer') ?? node;
              const parts = () => [...outer.querySelectorAll('.jp-Cell, .nw-whatif, .nw-board')];
              const sides = ({ x, y, width, height }) => [x, y, width, height];
              const places = () => parts().map((each) => sides(each.getBoundingClientRect())).join();
              for (let before = '', still = 0; still < 6;) {
                await new Promise(requestAnimationFrame);
                const now = places();
                still = now === before ? still + 1 : 0;
                before = now;
              }
            }"""
        )

    def kernel_done(self) -> None:
        """Wait until the kernel has done what it was asked for, and the page has drawn it."""
        self._page.evaluate(
            """async () => {
              const { kernel } = window.jupyterapp.shell.currentWidget.context.sessionContext.session;
              await kernel.requestKernelInfo();
              for (let n = 0; n < 2; n++) await new Promise(requestAnimationFrame);
            }"""
        )

    def cell(self, index: int) -> Any:
        """Locate a cell by its place, counted from 0."""
        return self._page.locator(".jp-Notebook .jp-Cell").nth(index)

    def hide_sidebars(self) -> None:
        """Give the notebook the width of the window."""
        for side in ("left", "right"):
            self._page.evaluate(
                f"() => {{ const s = window.jupyterapp.shell; if (!s.{side}Collapsed) s.collapse{side.title()}(); }}"
            )


_driving: list[Any] = []
_users = 0


@contextlib.contextmanager
def driver() -> Iterator[Any]:
    """What drives browsers, one a process and only while somebody uses it: its event loop runs in this thread."""
    global _users
    from playwright.sync_api import sync_playwright

    if not _users:
        _driving.append(sync_playwright().start())
    _users += 1
    try:
        yield _driving[-1]
    finally:
        _users -= 1
        if not _users:
            _driving.pop().stop()


class Lab:
    """A running JupyterLab, and one Chromium to look at it."""

    def __init__(self, port: int, token: str, root: Path, settings: Path) -> None:
        self.address = f"127.0.0.1:{port}"
        self.token, self.root, self._settings = token, root, settings
        self._stack = contextlib.ExitStack()
        self._context: Any = None

    def _browser(self) -> Any:
        """Start the browser when it is first asked for: what it has loaded of JupyterLab serves the next page too."""
        if self._context is None:
            driven = self._stack.enter_context(driver())
            browser = driven.chromium.launch(executable_path=require_browser(), args=ARGUMENTS)
            self._stack.callback(browser.close)
            self._context = browser.new_context()
            self._context.set_default_timeout(WAIT_MS)
            # The process of all its pages lives as long as one of them.
            self._context.new_page().goto(f"http://{self.address}/api/status?token={self.token}")
        return self._context

    def close(self) -> None:
        """End the browser."""
        self._stack.close()

    @contextlib.contextmanager
    def page(
        self,
        notebook: str,
        width: int = 1280,
        height: int = 900,
        *,
        reduced_motion: bool = False,
        ready: bool = True,
        theme: str = "JupyterLab Light",
    ) -> Iterator[Page]:
        """Open a notebook (a path below the server's folder) in a fresh page, with a kernel that ends with it.

        Without a theme none is chosen, on a computer that is dark.
        """
        _set(self._settings, theme)
        with self._kernels_end(), contextlib.closing(self._browser().new_page()) as made:
            made.set_viewport_size({"width": width, "height": height})
            motion, scheme = "reduce" if reduced_motion else "no-preference", "light" if theme else "dark"
            made.emulate_media(reduced_motion=motion, color_scheme=scheme)
            page = Page(made, self)

            # A workspace of its own, or JupyterLab would open the last page's tabs again.
            workspace = f"t{secrets.token_hex(4)}"
            made.goto(f"http://{self.address}/lab/workspaces/{workspace}/tree/{quote(notebook)}?token={self.token}")
            made.wait_for_function(
                "() => window.jupyterapp && window.jupyterapp.shell.currentWidget"
                " && window.jupyterapp.shell.currentWidget.content.widgets",
                timeout=START_SECONDS * 1000,
            )
            if ready:
                made.wait_for_function(
                    "() => { const s = window.jupyterapp.shell.currentWidget.sessionContext;"
                    " return s && s.session && s.session.kernel && s.session.kernel.status === 'idle'; }",
                    timeout=START_SECONDS * 1000,
                )
            yield page

    @contextlib.contextmanager
    def bare_page(self) -> Iterator[Page]:
        """Give a fresh page with nothing in it, for what needs no JupyterLab."""
        with self._kernels_end(), contextlib.closing(self._browser().new_page()) as made:
            yield Page(made, self)

    def forget(self) -> None:
        """Let the browser forget what pages of this server have kept in it."""
        self._browser().pages[0].evaluate("localStorage.clear()")

    @contextlib.contextmanager
    def _kernels_end(self) -> Iterator[None]:
        """Leave no kernel to the next page on the same notebook."""
        running = self._sessions()
        try:
            yield
        finally:
            for session in self._sessions() - running:
                self._ask("DELETE", f"sessions/{session}")

    def _sessions(self) -> set[str]:
        return {str(session["id"]) for session in json.loads(self._ask("GET", "sessions"))}

    def _ask(self, method: str, what: str) -> bytes:
        asked = urllib.request.Request(
            f"http://{self.address}/api/{what}", headers={"Authorization": f"token {self.token}"}, method=method
        )
        with urllib.request.urlopen(asked, timeout=START_SECONDS) as answer:
            return bytes(answer.read())


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _set(folder: Path, theme: str) -> None:
    """Tell JupyterLab to stay off the network, which theme to use, and to draw every cell."""
    wanted: dict[str, dict[str, Any]] = {
        "@jupyterlab/apputils-extension/notification": {"fetchNews": "false", "checkForUpdates": False},
        "@jupyterlab/apputils-extension/themes": {"theme": theme} if theme else {},
        "@jupyterlab/notebook-extension/tracker": {"windowingMode": "none"},
    }
    for name, values in wanted.items():
        path = folder / f"{name}.jupyterlab-settings"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(values), encoding="utf-8")


@contextlib.contextmanager
def lab(root: Path, *, environment: dict[str, str] | None = None) -> Iterator[Lab]:
    """Run a JupyterLab on a free port over a folder, with settings of its own, and end it afterwards.

    Parameters
    ----------
    root : Path
        Folder the server shows; ``root / ".lab"`` gets its settings and its log.
    environment : dict, optional
        Further environment variables for the server and its kernels.
    """
    require_browser()
    private = root / ".lab"
    private.mkdir()
    token, port = secrets.token_hex(16), _free_port()
    home = {"JUPYTER_CONFIG_DIR": "config", "JUPYTER_DATA_DIR": "data", "JUPYTER_RUNTIME_DIR": "runtime"}
    process_environment = {
        **os.environ,
        **{name: str(private / folder) for name, folder in home.items()},
        "JUPYTERLAB_SETTINGS_DIR": str(private / "settings"),
        "JUPYTERLAB_WORKSPACES_DIR": str(private / "workspaces"),
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ.get('PATH', '')}",
        **(environment or {}),
    }
    command = [
        sys.executable, "-m", "needlework.basis.light", "jupyterlab", "--no-browser", "--allow-root",
        f"--ServerApp.port={port}", "--ServerApp.ip=127.0.0.1", "--ServerApp.port_retries=0",
        f"--IdentityProvider.token={token}",
        f"--ServerApp.root_dir={root}", "--LabApp.expose_app_in_browser=True",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
    ]  # fmt: skip
    with (private / "log.txt").open("w") as log:
        server = subprocess.Popen(
            command, env=process_environment, stdout=log, stderr=subprocess.STDOUT, start_new_session=True
        )
        try:
            _wait_until_up(server, f"http://127.0.0.1:{port}/api/status?token={token}", private / "log.txt")
            with contextlib.closing(Lab(port, token, root, private / "settings")) as running:
                yield running
        finally:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(server.pid, signal.SIGTERM)
            try:
                server.wait(10)
            except subprocess.TimeoutExpired:
                os.killpg(server.pid, signal.SIGKILL)
                server.wait(10)


def _wait_until_up(server: subprocess.Popen[bytes], url: str, log: Path) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        if server.poll() is not None:
            break
        try:
            with urllib.request.urlopen(url, timeout=2):
                return
        except (urllib.error.URLError, ConnectionError, TimeoutError):
            time.sleep(0.2)
    raise RuntimeError(f"JupyterLab did not start:\n{log.read_text()[-2000:]}")
