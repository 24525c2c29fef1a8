"""Laws that hold for every job: worse is never milder, and not knowing never opens anything.

A job is a whole kiln of every day, completed honestly, of which some questions are answered in another way: when a law
is broken, what is left of them are those that break it.
"""

from functools import cache

from hypothesis import given
from hypothesis import strategies as st

from recover.asked.compiled import questionnaire
from recover.asked.told import key_of, split_key
from recover.base.addresses import UNLISTED, name_of
from tests.conftest import NOW, answers_from, assessed, cases, events_of
from tests.gates import assessed_at, worsened
from tests.kilns import KILNS, completed, told

QUESTIONS = questionnaire()
IDS = [question.id for question in QUESTIONS.question]
STATE_ORDER = {"released": 0, "ready for release": 1, "closed": 2}
SLOW = cases(60)


@cache
def values_of(name):
    """Return what may be answered to a question, what is usual first; None stands for unknown."""
    question = QUESTIONS.questions[name]
    if question.kind == "choice":
        return [*(choice.id for choice in question.choices), None]
    if question.kind == "several":
        names = [choice.id for choice in question.choices if choice.id not in question.alone]
        return [question.alone[:1] or names[:1], *([name] for name in names), names, None]
    if question.kind in ("number", "reading"):
        return [question.at_least, question.at_least + 1, *([] if question.whole else [0.09, 0.99, 1.2, 430.0]), None]
    if question.kind == "moment":
        return ["2026-03-07T18:00:00+00:00", "2026-03-10T08:00:00+00:00", None]
    return ["somebody", None]


@cache
def places(name, question):
    """Return every component of a kiln that a question may be answered about."""
    return answers_from(completed(name), told=told(name)).components(QUESTIONS.questions[question].per)


CHANGE = st.tuples(st.sampled_from(IDS), st.integers(0, 20))


@st.composite
def jobs(draw):
    """A kiln of every day, and what is answered of it in another way, all components of a question alike."""
    name = draw(st.sampled_from(list(KILNS)))
    values = dict(completed(name))
    for question, number in draw(st.lists(CHANGE, max_size=20)):
        choices = values_of(question)
        values |= {key_of(question, at): choices[number % len(choices)] for at in places(name, question)}
    return values, told(name)


def outcomes(found):
    """Return for each component and table the two ends of its outcome as places on the scale."""
    return {
        (finding.table.id, finding.at): (
            finding.table.scale.index(finding.outcome.low),
            finding.table.scale.index(finding.outcome.high),
        )
        for finding in (*found.findings, *found.calls)
    }


def needs(hold):
    """Return the needs of a hold point that are not met; two answers that do not fit may fit once one is worse, and
    then something else keeps it closed.
    """
    return {one.say for one in hold.unmet} - {"answers that fit together"}


def opened(before, after):
    """Return what holds of a job and was not so before: hold points further on, needs met, ways to dry open."""
    now = {(hold.point.id, hold.at): hold for hold in after.holds}
    for hold in before.holds:
        other = now.get((hold.point.id, hold.at))
        if other is None:
            continue
        yield from (f"{hold.point.id}: {need}" for need in needs(hold) - needs(other))
        if STATE_ORDER[other.state] < STATE_ORDER[hold.state] or (hold.missing and not other.missing):
            yield f"{hold.point.id} is {other.state} and was {hold.state}"
    shut = {(one.kiln, one.way) for one in after.shut}
    yield from (f"{one.way} is open" for one in before.shut if (one.kiln, one.way) not in shut)


def milder(before, after, worse):
    """Return each outcome that became milder.

    Not knowing widens a range downwards too, and never lifts its worst end; so does a reading that does not count and
    of which neither more nor less is worse. A component that is no longer listed is spoken for by what is not listed.
    """
    question = QUESTIONS.questions[split_key(worse.key)[0]]
    sided = worse.how != "unknown" and (question.order == "scale" or question.worse)
    now = outcomes(after)
    worst = {}
    for (table, _), (_, high) in now.items():
        worst[table] = max(worst.get(table, -1), high)
    for (table, at), (low, high) in outcomes(before).items():
        least, most = now.get((table, at), (low, worst.get(table, -1)))
        if most < high or (sided and least < low):
            yield f"{table} {at}"


@cases(120)
@given(jobs(), st.data())
def test_an_answer_made_worse_in_any_way_opens_nothing_and_makes_nothing_milder(job, data):
    """Worse, unknown, older, by nobody, without its paper, read otherwise: of any question of any job."""
    events = tuple(events_of(*job))
    key = data.draw(st.sampled_from(sorted(key for key, value in job[0].items() if value is not None)))
    ways = list(worsened(events, of=key, at=NOW))
    if not ways:
        return
    worse = data.draw(st.sampled_from(ways))
    before, after = assessed_at(events, NOW), assessed_at(worse.events, NOW)

    assert list(opened(before, after)) == [], str(worse)
    assert list(milder(before, after, worse)) == [], str(worse)


@SLOW
@given(jobs())
def test_every_component_gets_an_outcome_with_a_reason_and_somebody_to_act(job):
    for finding in assessed(job[0], told=job[1]).findings:
        assert finding.outcome.reasons, finding.at
        assert finding.who, finding.at
        assert finding.tasks, finding.at
        assert finding.outcome.closed == (not finding.outcome.depends_on)


@SLOW
@given(jobs())
def test_energising_is_never_open_while_something_it_needs_is_not_known(job):
    values, beside = job
    energise = [key for key in values if key.startswith("energise.")]
    found = assessed({**values, **dict.fromkeys(energise[:1])}, told=beside)

    assert any(hold.state == "closed" for hold in found.holds if hold.point.id == "energise")


@SLOW
@given(jobs())
def test_an_unlisted_family_is_named_until_somebody_lists_it(job):
    values, beside = job
    answers = answers_from(values, told=beside)

    for kiln in answers.kilns:
        listed = values.get(f"gear.devices@{kiln}")
        unlisted = [at for at in answers.components("device", of=kiln) if name_of(at) == UNLISTED]
        assert bool(unlisted) == (listed is None)
