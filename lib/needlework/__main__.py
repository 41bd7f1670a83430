"""Run the ``needlework`` command as ``python -m needlework``."""

import sys

from needlework.course.command import main

sys.exit(main())
