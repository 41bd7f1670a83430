"""nbgrader's settings in a learner's server: where homework is fetched from and where it lies (found by Jupyter)."""

import os

from needlework.course.hub import EXCHANGE
from needlework.exercises import progress
from traitlets.config import Config

# nbgrader hands ``get_config`` in when it reads this file.
settings = globals().get("get_config", Config)()
settings.CourseDirectory.course_id = "needlework"
settings.Exchange.root = os.environ.get(EXCHANGE, "")
# The whole path: the window for homework changes its folder, and would take a part of a path twice.
settings.Exchange.assignment_dir = str(progress.folder().absolute() / "homework")
