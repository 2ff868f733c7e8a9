"""Sums that a technician does with a meter, a data sheet and Ohm's and Kirchhoff's laws.

Each *form* of sum (`Form`) finds what can be asked at an operating point, works the answer out
as at school from what the meters show, and from the same figures what each known wrong model
arrives at. The solver's own value stands beside it and has to agree.
"""

from quizgen.items.reckoning.branches import BRANCH, LEFT, SHARE
from quizgen.items.reckoning.fitting import RATING, SIZE
from quizgen.items.reckoning.laws import CURRENT, DROP, POWER, RESISTANCE
from quizgen.items.reckoning.problem import Form

FORMS: dict[str, Form] = {
    form.name: form
    for form in (DROP, CURRENT, RESISTANCE, POWER, BRANCH, LEFT, SHARE, RATING, SIZE)
}
