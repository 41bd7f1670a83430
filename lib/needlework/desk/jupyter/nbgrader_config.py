"""nbgrader's own commands and pages, set up for the instructor's desk (found through JUPYTER_CONFIG_PATH)."""

from needlework.desk.homework import default_desk, settings_for
from traitlets.config import get_config

get_config().merge(settings_for(default_desk()))
