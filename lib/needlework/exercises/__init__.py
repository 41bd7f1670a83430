"""Questions, answers, verdicts, and what the learner has done."""
