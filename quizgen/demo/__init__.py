"""A term as a demonstration: plans, pages, simulated answers, grading, coverage, an index page.

    python -m quizgen.demo [TERM.yaml] [--out FOLDER] [--jobs N]

It goes through the same commands as a user (`terminal`), week by week and class by class
(`lesson`), and at the end of the term (`term_end`). Only what people do is simulated: how
students answer (`learners`) and how their sheets look when they come back (`paper`).
"""
