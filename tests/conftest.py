"""The suite works in folders of its own, draws the same cases where CI is set, and spreads its slow tests first."""

import gc
import os
import tempfile

import pytest
from hypothesis import HealthCheck, settings

_place = tempfile.TemporaryDirectory(prefix="needlework-tests-", ignore_cleanup_errors=True)
for _name, _folder in (
    ("NEEDLEWORK_FOLDER", "learner"),
    ("NEEDLEWORK_DESK", "desk"),
    ("IPYTHONDIR", "ipython"),
    ("JUPYTER_CONFIG_DIR", "jupyter"),
    ("JUPYTER_DATA_DIR", "jupyter-data"),
    ("JUPYTER_RUNTIME_DIR", "jupyter-run"),
):
    os.environ[_name] = os.path.join(_place.name, _folder)
# A notebook that a test runs uses the interpreter of the suite, whatever kernels the person has installed.
os.environ["JUPYTER_PREFER_ENV_PATH"] = "1"

# How long a case takes says more about the machine than about the code. Locally new cases are drawn each time.
settings.register_profile(
    "needlework",
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    derandomize=bool(os.environ.get("CI")),
    print_blob=True,
)
settings.load_profile("needlework")


@pytest.hookimpl(tryfirst=True)  # before pytest-xdist reads the groups
def pytest_collection_modifyitems(items):
    """Keep together what shares a kernel, a server or a marked class; let what takes long begin first."""
    for item in items:
        shared = {"server", "marked"}.intersection(getattr(item, "fixturenames", ()))
        if item.path.suffix == ".ipynb":
            shared = {item.path.stem}
            item.add_marker(pytest.mark.slow)
        for name in shared:
            item.add_marker(pytest.mark.xdist_group(name))
    items.sort(key=lambda item: item.get_closest_marker("slow") is None)


def pytest_collection_finish():
    """Nothing of what was collected goes before the end: who looks for garbage need not go through it every time."""
    gc.collect()
    gc.freeze()


@pytest.fixture
def panels(tmp_path, monkeypatch):
    """A folder of their own for flights by hand; no panel is left to the next test."""
    from needlework.showing.panel import widget

    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("NEEDLEWORK_FOLDER", str(tmp_path / "own"))
    yield
    for made in list(widget._panels.values()):
        made.close()
    widget._panels.clear()
