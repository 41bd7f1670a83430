"""A lesson in front of a class: the same questions, pictures and what-ifs, one thing on a screen.

``deck`` puts the steps together from the released lesson, ``films`` works out what a what-if shows, ``kept`` keeps
place and votes, ``serving`` is what the page in the browser asks for, ``paper`` makes card and worksheets.
"""
