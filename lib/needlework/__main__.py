"""Run the ``needlework`` command as ``python -m needlework``."""

import sys

from needlework.course import main

sys.exit(main())
