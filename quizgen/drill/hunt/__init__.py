"""The hunt for a hidden fault: a machine, a complaint, instruments, and time that runs.

In this order: `case` draws what is hunted; `standing` says how the machine stands; `engine` takes
one act after the other; `field` knows what may still be wrong; `course` plans the cheapest order of
tests; `repair` mends what was named; `debrief` looks back.
"""
