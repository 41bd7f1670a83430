"""nbgrader's own commands and pages, set up for the instructor's desk (found through JUPYTER_CONFIG_PATH)."""

from needlework.desk.homework import default_desk, settings_for
from traitlets.config import Config

# nbgrader hands ``get_config`` in when it reads this file.
globals().get("get_config", Config)().merge(settings_for(default_desk()))
