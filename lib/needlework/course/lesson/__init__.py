"""What a lesson's cells call, and what stands behind it; everything else stays out of the learner's sight.

``session`` knows whose lesson and whose numbers it is, ``verbs`` is what cells call, ``boxes`` the HTML of what is
shown, ``outputs`` the page, the line and the data of one output, ``buttons`` what can be pressed, ``mistakes``
Python's errors in plain words, and ``cells`` what the kernel does around a cell.
"""
