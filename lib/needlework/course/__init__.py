"""The learner's doors: what a lesson's cells call, the start page, the command."""
