"""`python -m quizgen` is the command `quizgen`."""

from quizgen.cli.main import main

main()
