"""The hunt for a hidden fault: a machine, a complaint, instruments, and time that runs.

In this order: `case` draws what is hunted; `standing` says how the machine stands; `engine` takes
one act after the other; `sitting` keeps them in a log; `field` knows what may still be wrong;
`course` plans the cheapest order of tests, by the search in `tree`; `naming` and `repair` mend what
was named; `debrief` looks back. `typed` reads lines; `telling`, `debrief_page` and `words` answer.
"""
