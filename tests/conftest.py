"""The suite works in a learner's folder and a desk of its own, never in those of the person who runs it."""

import os
import tempfile

_place = tempfile.TemporaryDirectory(prefix="needlework-tests-", ignore_cleanup_errors=True)
os.environ["NEEDLEWORK_FOLDER"] = os.path.join(_place.name, "learner")
os.environ["NEEDLEWORK_DESK"] = os.path.join(_place.name, "desk")
# A notebook that a test runs uses the interpreter of the suite, whatever kernels the person has installed.
os.environ["JUPYTER_PREFER_ENV_PATH"] = "1"
