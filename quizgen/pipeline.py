"""One problem set from top to bottom. Read this first.

`build_set` calls the stages; they stand below in the order in which it calls them.

    plan and scenario                                      `forms.plan`, `scenario`
    `assemble`: plan ─► slots, through an integer program  `forms.assemble`, `forms.blueprint`
        for each slot: template + parameters ─► Circuit    `forms.candidates`
            ─► fault dictionary ─► proved Item, verified   `items.material`, `items.kinds`,
                                                           `items.verify`
        items ─► forms balanced in difficulty              `forms.select`
        ─► ProblemSet                                      `forms.problem_set`
    `check_lint`: rules of item writing, form by form      `forms.lint_form`
    `write_set`: the ProblemSet as JSON, then a job each   `publish.printing`
        for the answer key, the answer sheets, and every
        form (workbook as PDF and HTML, student pack)
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from quizgen.base.errors import InputError
from quizgen.base.seeds import Seed, read_secret
from quizgen.base.spread import Here, Runner
from quizgen.base.writing import write_whole
from quizgen.forms.assemble import make_forms
from quizgen.forms.candidates import Workshop
from quizgen.forms.lint_form import check_lint
from quizgen.forms.plan import Plan, load_plan
from quizgen.forms.problem_set import FILE_FORMAT, Form, ProblemSet, write_problem_set
from quizgen.forms.roster import Student, read_roster, seated
from quizgen.forms.sheet import Sheet, lay_out_sheet
from quizgen.publish.documents import STANDARD
from quizgen.publish.page_options import PageOptions
from quizgen.publish.printing import FormJob, KeyJob, PrintJob, SheetsJob, print_job
from quizgen.publish.sheet_svg import Bearer
from quizgen.publish.view import Heading
from quizgen.scenario.scenario import Scenario, find_scenario

Progress = Callable[[str], None]
"""Called with a short text after each item and each document."""


@dataclass(frozen=True)
class Built:
    """The files of a finished problem set."""

    problem_set: Path
    workbooks: tuple[Path, ...] = ()
    sheets: tuple[Path, ...] = ()
    keys: tuple[Path, ...] = ()
    packs: tuple[Path, ...] = ()

    @property
    def files(self) -> tuple[Path, ...]:
        """All of them."""
        return (self.problem_set, *self.workbooks, *self.packs, *self.sheets, *self.keys)


def build_set(
    plan_path: Path,
    out: Path,
    *,
    secret_file: Path | None = None,
    pages: PageOptions | None = STANDARD,
    despite_lint: bool = False,
    progress: Progress = lambda text: None,
    runner: Runner | None = None,
) -> Built:
    """Build the set that the plan file asks for into the folder `out`.

    The course secret comes from `secret_file`, or else from the plan. Items are made and pages
    set by `runner`, see `quizgen.base.spread`; the files do not depend on it. Without `pages` there
    is the instructor's file alone.

    Raises InputError for a wrong plan, UnprovableError for a cell that cannot be met or, unless
    `despite_lint`, a form that breaks a rule of item writing, OutsideError when pages cannot be
    made or written. Nothing is written before all items are proved.
    """
    plan = load_plan(plan_path)
    scenario = find_scenario(plan.scenario)
    secret = read_secret(secret_file) if secret_file else plan.secret.encode()
    if not secret:
        raise InputError(f"{plan_path}: has no secret; name the course's secret file (--secret)")
    seed = Seed(secret).under("plan", plan.name)
    problem_set = assemble(plan, scenario, seed, progress, runner)
    if not despite_lint:
        check_lint(problem_set)
    heading = heading_of(plan, scenario, problem_set)
    return write_set(heading, problem_set, seed, out, pages, progress, runner)


def assemble(
    plan: Plan,
    scenario: Scenario,
    seed: Seed,
    progress: Progress = lambda text: None,
    runner: Runner | None = None,
) -> ProblemSet:
    """All forms of a plan with proved items; the same plan and seed give the same set."""
    workshop = Workshop(plan, scenario, seed)
    students = students_of(plan, scenario)
    codes = plan.form_codes or tuple(f"{n:02}" for n in range(1, len(students) + 1))
    slots, forms = make_forms(workshop, codes, progress, runner)
    students = seated(students, codes)
    owner = {} if plan.forms else {s.form: s.name for s in students}
    return ProblemSet(
        format=FILE_FORMAT,
        name=plan.name,
        token=seed.token(),
        title=plan.title,
        week=plan.week,
        scenario=plan.scenario,
        circuits=plan.circuits,
        slots=slots,
        forms=tuple(replace(form, student=owner.get(form.code, "")) for form in forms),
        students=students,
    )


def students_of(plan: Plan, scenario: Scenario) -> tuple[Student, ...]:
    """The class: the plan's roster, or the invented students of the scenario."""
    if plan.roster is not None:
        return read_roster(plan.roster)
    return tuple(Student(id=s.id, name=s.name) for s in scenario.students)


def heading_of(plan: Plan, scenario: Scenario, problem_set: ProblemSet) -> Heading:
    """What stands at the top of every document of the set."""
    items = [item for form in problem_set.forms for item in form.items]
    topics = dict.fromkeys(topic for item in items for topic in item.topics)
    return Heading(
        college=scenario.college,
        course=scenario.course,
        title=plan.title,
        week=plan.week,
        instructor=plan.instructor or scenario.instructors[0].name,
        topics=tuple(topic.replace("-", " ") for topic in topics),
        cautions=scenario.cautions,
        language=scenario.language,
    )


def write_set(
    heading: Heading,
    problem_set: ProblemSet,
    seed: Seed,
    out: Path,
    pages: PageOptions | None,
    progress: Progress = lambda text: None,
    runner: Runner | None = None,
) -> Built:
    """The set as JSON, and with `pages` all that is printed or handed out.

    These are workbooks and keys as PDF and HTML, answer sheets, and student packs. `seed` seals
    the packs. What a job of `runner` gives is written as it comes, so that a set of many forms
    takes no more memory than one of few. Raises OutsideError.
    """
    written = write_problem_set(problem_set, out / f"{problem_set.name}.instructor.json")
    if pages is None:
        return Built(written)
    jobs = [*print_jobs(heading, problem_set, seed, pages)]
    paths: list[tuple[Path, ...]] = [()] * len(jobs)
    progress(f"pages 0 of {len(jobs)}")
    for number, documents in (runner or Here()).map(print_job, jobs):
        paths[number] = tuple(write_whole(out / d.name, d.content) for d in documents)
        done = sum(map(bool, paths))
        progress(f"pages {done} of {len(jobs)}: {documents[0].name}")
    keys, sheets, *books = paths  # as `print_jobs` has them
    workbooks = tuple(path for pdf, html, _ in books for path in (pdf, html))
    return Built(written, workbooks, sheets, keys, tuple(pack for *_, pack in books))


def print_jobs(
    heading: Heading, problem_set: ProblemSet, seed: Seed, pages: PageOptions
) -> Iterator[PrintJob]:
    """Key, answer sheets, then each form: what takes longest comes first, and no core waits."""
    name, forms = problem_set.name, problem_set.forms
    yield KeyJob(name, heading, forms, problem_set.slots, pages)
    yield SheetsJob(name, heading, tuple(sheets_of(problem_set, pages)))
    for form in forms:
        owner = owner_of(form, problem_set)
        yield FormJob(name, heading, form, pages, problem_set.token, owner, seed)


def owner_of(form: Form, problem_set: ProblemSet) -> str:
    """The id of the student whose form it is; "" for a form that several get."""
    if not form.student:
        return ""
    return next(s.id for s in problem_set.students if s.form == form.code)


def sheets_of(problem_set: ProblemSet, pages: PageOptions) -> list[tuple[Sheet, Bearer]]:
    """An answer sheet for every student, and one without a name for each form."""
    paper = "letter" if pages.size.lower() == "letter" else "a4"
    sheets = {form.code: lay_out_sheet(form.items, paper) for form in problem_set.forms}
    token = problem_set.token
    named = [Bearer(form=s.form, token=token, id=s.id, name=s.name) for s in problem_set.students]
    blank = [Bearer(form=form.code, token=token) for form in problem_set.forms if not form.student]
    return [(sheets[bearer.form], bearer) for bearer in (*named, *blank)]
