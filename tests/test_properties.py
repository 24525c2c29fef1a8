"""Laws that hold for every job: worse is never milder, and not knowing never opens anything."""

from random import Random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from recover.answers import Answer, decode, key_of
from recover.kiln import UNLISTED, name_of
from recover.questions import questionnaire
from tests.conftest import ZONE, answers_from, assessed

QUESTIONS = questionnaire()
SCALES = {question.id for question in QUESTIONS.question if question.order == "scale"}
STATE_ORDER = {"released": 0, "ready for release": 0, "closed": 1}
SLOW = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def question_of(key):
    """Return the question of a journal's key."""
    return QUESTIONS.questions[key.partition("@")[0]]


def value_of(dice, question):
    """Draw a value that the interview could give; None stands for unknown."""
    if question.kind == "choice":
        return dice.choice([None, *(choice.id for choice in question.choices)])
    if question.kind == "several":
        names = [choice.id for choice in question.choices if choice.id not in question.alone]
        several = dice.sample(names, dice.randint(1, min(4, len(names))))
        return dice.choice([None, question.alone[:1] or several, several, several])
    if question.kind in ("number", "reading"):
        numbers = [question.at_least, question.at_least + 1] if question.whole else [0.09, 0.3, 0.99, 1.0, 1.2, 430.0]
        return dice.choice([None, *numbers])
    if question.kind == "moment":
        return dice.choice([None, "2026-03-07T18:00:00+00:00", "2026-03-10T08:00:00+00:00"])
    return dice.choice([None, "somebody"])


@st.composite
def jobs(draw):
    """A job in which some questions are answered, in their order: what there is, and everything about it.

    One number is drawn and the rest follows from it: a job has hundreds of answers, more than are worth shrinking.
    """
    dice = Random(draw(st.integers(0, 2**32)))
    answers, given_answers = answers_from({}), {}
    for question in QUESTIONS.question:
        for at in answers.instances(question):
            if dice.random() < 0.85:
                key, value = key_of(question.id, at), value_of(dice, question)
                given_answers[key] = value
                known = value if value is None else decode(question, value, ZONE)
                answers.given[key] = Answer(question.id, at, "given" if value is not None else "unknown", known)
    return given_answers


@st.composite
def jobs_and_worse(draw):
    """A job, and the same with one scale answer moved to a worse one."""
    given_answers = draw(jobs())
    movable = []
    for key, value in given_answers.items():
        question = question_of(key)
        if question.id in SCALES and value is not None and value != question.choices[-1].id:
            movable.append((key, question, value))
    if not movable:
        key = "event.salt"
        return {**given_answers, key: "fresh"}, {**given_answers, key: "sea"}, key
    key, question, value = draw(st.sampled_from(movable))
    order = [choice.id for choice in question.choices]
    worse = draw(st.sampled_from(order[order.index(value) + 1 :]))
    return given_answers, {**given_answers, key: worse}, key


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
    """Return the needs of a hold point that are not met; two answers that do not fit may fit once one is worse."""
    return {one.say for one in hold.unmet} - {"answers that fit together"}


def holds(found):
    return {(hold.point.id, hold.at): hold for hold in found.holds}


@SLOW
@given(jobs_and_worse())
def test_a_worse_answer_never_makes_an_outcome_milder_or_opens_a_hold_point(case):
    given_answers, worse_answers, key = case
    before, after = assessed(given_answers), assessed(worse_answers)

    for place, (low, high) in outcomes(before).items():
        assert outcomes(after)[place][0] >= low, (place, key)
        assert outcomes(after)[place][1] >= high, (place, key)
    for place, hold in holds(before).items():
        assert STATE_ORDER[holds(after)[place].state] >= STATE_ORDER[hold.state], (place, key)
        assert needs(hold) <= needs(holds(after)[place]), (place, key)
        assert not hold.unmet or holds(after)[place].unmet, (place, key)


@SLOW
@given(jobs(), st.data())
def test_not_knowing_opens_nothing_and_never_lifts_the_worst_end(given_answers, data):
    """Optional looks and measurements are left out: one of them may contradict, and then the worse of two counts."""
    given_answers = {key: value for key, value in given_answers.items() if not question_of(key).optional}
    answered = [key for key, value in given_answers.items() if value is not None]
    if not answered:
        return
    key = data.draw(st.sampled_from(sorted(answered)))
    before, after = assessed(given_answers), assessed({**given_answers, key: None})

    worst = {}
    for (table_id, at), (_, high) in outcomes(after).items():
        worst[table_id] = max(worst.get(table_id, -1), high)
        if (table_id, at) in outcomes(before):
            assert high >= outcomes(before)[table_id, at][1], (table_id, at, key)
            assert outcomes(after)[table_id, at][0] <= outcomes(before)[table_id, at][0], (table_id, at, key)
    for (table_id, at), (_, high) in outcomes(before).items():
        gone = (table_id, at) not in outcomes(after)
        if gone and key != "scope.kilns":  # its family is no longer listed: what is not listed stands for it
            assert worst[table_id] >= high, (table_id, at, key)
    for place, hold in holds(before).items():
        if place in holds(after):
            assert STATE_ORDER[holds(after)[place].state] >= STATE_ORDER[hold.state], (place, key)


@SLOW
@given(jobs())
def test_every_component_gets_an_outcome_with_a_reason_and_somebody_to_act(given_answers):
    found = assessed(given_answers)

    for finding in found.findings:
        assert finding.outcome.reasons, finding.at
        assert finding.who, finding.at
        assert finding.tasks, finding.at
        assert finding.outcome.closed == (not finding.outcome.depends_on)


@SLOW
@given(jobs())
def test_energising_is_never_open_while_something_it_needs_is_not_known(given_answers):
    energise = [key for key in given_answers if key.startswith("energise.")]
    found = assessed({**given_answers, **dict.fromkeys(energise[:1])})

    if energise:
        assert any(hold.state == "closed" for hold in found.holds if hold.point.id == "energise")


@SLOW
@given(jobs())
def test_an_unlisted_family_is_named_until_somebody_lists_it(given_answers):
    found = assessed(given_answers)

    for kiln in found.answers.components("kiln"):
        listed = given_answers.get(f"gear.devices@{kiln}")
        unlisted = [at for at in found.answers.components("device", of=kiln) if name_of(at) == UNLISTED]
        assert bool(unlisted) == (listed is None)
