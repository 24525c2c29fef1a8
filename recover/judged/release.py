"""Recording that a named person releases a hold point, or takes a signature back.

The program shows what is missing; it never releases.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from recover.asked.told import same_person
from recover.base.addresses import JOB
from recover.base.errors import AnswerError, command
from recover.base.measures import show_moment
from recover.base.nothing_said import says_nothing
from recover.job.folder import Job, open_job
from recover.job.journal import Event, Journal, utc_now
from recover.judged.assessment import Assessment, assess
from recover.judged.set_back import unsigned
from recover.judged.signatures import may_sign
from recover.judged.standing import Hold
from recover.profiles import Profile, Role
from recover.rules.gates import duties


def release(
    folder: Path, point: str, at: str, *, by: str, role: str, licence: str = "",
    clock: Callable[[], datetime] = utc_now,
) -> str:  # fmt: skip
    """Write one person's signature under a hold point and return what was written.

    Raises AnswerError while anything is missing or a file of the job does not prove, for a role that may not sign
    there, and for a second signature of one person, unless what was said again since makes it last longer.
    """
    job = open_job(folder)
    with Journal(job.journal, clock) as journal:
        found = assess(Job(folder, job.settings, tuple(journal.events), journal.head), clock())
        _clock_stands(found, folder)
        _files_prove(found, folder)
        hold, signer = _found(found, point, at), _licensed(_role(found.profile, role), licence)
        if hold.missing:
            raise AnswerError("\n  ".join([f"{hold.point.title} stays closed; missing:", *hold.missing]))
        data = {
            "hold_point": hold.point.id, "at": hold.at, "duty": _duty(folder, hold, by, signer), "role": signer.id,
            "licence": licence.strip(), "rests_on": dict(hold.rests_on), "after": list(hold.after),
        }  # fmt: skip
        line = Event(len(journal.events) + 1, found.answers.now.isoformat(), by, "log", "release", data, "")
        done = _found(assess(Job(folder, job.settings, (*journal.events, line), ""), clock()), point, hold.at)
        if ended := done.signatures[-1].ended:  # it would not hold for a moment
            raise AnswerError(f"{hold.point.title}: this signature would not hold: {ended}")
        journal.append("release", data, by=by, source="log")
    slips = _other_role(folder, found, done, by, signer) + _other_licence(found, by, licence.strip())
    return _told(done) + _before(hold) + slips


def withdraw(
    folder: Path, point: str, at: str, *, by: str, role: str, reason: str, clock: Callable[[], datetime] = utc_now
) -> str:  # fmt: skip
    """Take back the signatures under a hold point that are a person's own, or that are for a duty of their role.

    Returns what was written. Raises AnswerError where there is none, and without a reason: whoever signs next reads it.
    """
    if not reason.strip():
        raise AnswerError("a signature is taken back for a reason; give it with --reason")
    job = open_job(folder)
    with Journal(job.journal, clock) as journal:
        found = assess(Job(folder, job.settings, tuple(journal.events), journal.head), clock())
        hold, speaks = _found(found, point, at), _role(found.profile, role)
        taken = [one for one in hold.signed if same_person(one.by, by) or one.duty in speaks.duties]
        if not by.strip() or not taken:
            signed = hold.signers or "nobody"
            whose = f"signed under it is {signed}; whoever signed takes that back, or who may sign for it"
            raise AnswerError(f"{by}, {speaks.title}: has nothing to take back under {hold.point.title}; {whose}")
        data = {"role": speaks.id, "releases": [one.line for one in taken], "reason": reason.strip()}
        journal.append("withdrawal", data, by=by, source="log")
    names = "; ".join(one.signer for one in taken)
    closed = "it is closed, and so is what comes after"
    return f"taken back: {hold.point.title} ({hold.label}), signed by {names}; {closed}. Why: {reason.strip()}"


def _before(hold: Hold) -> str:
    """Return, for whoever signs where a signature was taken back, by whom and why."""
    return f"\nBefore that it was {hold.taken_back}." if hold.taken_back else ""


def _other_role(folder: Path, found: Assessment, hold: Hold, by: str, role: Role) -> str:
    """Return that somebody spoke in another role before, never in this one, and how a slip is taken back."""
    before = found.answers.roles_of(by)
    if not before or role.id in before:
        return ""
    spoke = ", ".join(one.title for one in found.profile.role if one.id in before)
    slip = f"If that was a slip: {_taking_back(folder, hold, by, role)}"
    return f"\n{by} spoke as {spoke} before, never as {role.title}. {slip}"


def _other_licence(found: Assessment, by: str, licence: str) -> str:
    """Return that somebody signed with another number before."""
    signed = (one.licence for one in found.answers.releases if same_person(one.by, by) and one.licence)
    others = [one for one in dict.fromkeys(signed) if licence and one != licence]
    return (
        f"\n{by} signed with {', '.join(others)} before, and now with {licence}: look whether one is a slip."
        if others
        else ""
    )


def _taking_back(folder: Path, hold: Hold, by: str, role: Role) -> str:
    component = ("--component", hold.at) if hold.at != JOB else ()
    who = "--by", by, "--as", role.id, "--reason", "WHY"
    return command("log", folder, "--withdraw", hold.point.id, *component, *who)


def _clock_stands(found: Assessment, folder: Path) -> None:
    """Refuse to sign by a clock that stands before what is written already. Raises AnswerError."""
    if why := unsigned(found.answers, folder):
        raise AnswerError(why)


def _files_prove(found: Assessment, folder: Path) -> None:
    """Refuse to sign while a photograph is not as it was taken in: whoever signs may have looked at it.

    Raises AnswerError.
    """
    if found.of_files:
        mended = f"put back what was taken in, or {command('check', folder, '--mend')} sets it aside"
        raise AnswerError("\n  ".join([f"nothing is signed while this is so ({mended}):", *map(str, found.of_files)]))


def _told(hold: Hold) -> str:
    who = hold.signed[-1].signer
    if hold.wanted:
        return f"signed: {hold.point.title} ({hold.label}), by {who}; still to sign: {hold.still}"
    lasts = f", at the latest {show_moment(hold.until)}" if hold.until else ""
    ends = f"it ends when anything that it rests on changes{lasts}"
    suspended = f". It opens nothing now: {hold.suspended}" if hold.suspended else ""
    return f"released: {hold.point.title} ({hold.label}), by {who}; {ends}{suspended}"


def _role(country: Profile, name: str) -> Role:
    """Return a role of the country by its name. Raises AnswerError for another."""
    role = next((role for role in country.role if name.strip().casefold() in (role.id, role.title.casefold())), None)
    if role is None:
        known = ", ".join(role.id for role in country.role)
        raise AnswerError(f"{name!r} is no role that signs here; expected one of {known}")
    return role


def _licensed(role: Role, licence: str) -> Role:
    """Return the role of who signs with a licence where it asks for one. Raises AnswerError where the number lacks."""
    if role.licence and says_nothing(licence):
        raise AnswerError(f"{role.title}: signs with a licence or registration number; give it with --licence")
    return role


def _duty(folder: Path, hold: Hold, by: str, role: Role) -> str:
    """Return what a person signs for: the first duty that is open and is this role's. Raises AnswerError."""
    if not by.strip():
        raise AnswerError("a signature needs a name")
    if anew := next((one.duty for one in hold.renewable if same_person(one.by, by) and one.duty in role.duties), None):
        return anew
    if any(same_person(one.by, by) for one in hold.signed):
        other = f"still to sign: {hold.still}; two people sign, so that is somebody other than {by}"
        still = other if hold.wanted else _all_signed(hold)
        raise AnswerError(f"{by} has signed for {hold.point.title} already; {still}")
    duty = next((duty for duty in hold.wanted if duty in role.duties), None)
    if duty is None and any(one.duty in role.duties for one in hold.signed):
        signed = f"{hold.point.title} is signed for by {hold.signers}"
        raise AnswerError(f"{signed}; if that was a slip: {_taking_back(folder, hold, by, role)}, then sign")
    if duty is None:
        expected = f"expected {hold.still}" if hold.wanted else _all_signed(hold)
        raise AnswerError(f"{role.title}: does not sign for {hold.point.title} here; {expected}")
    if not may_sign(hold.witnesses, duty, by):
        names = " or ".join(hold.witnesses[duty])
        raise AnswerError(f"{duties()[duty]}: that was {names}, by the answers; they sign, or {by} attests it anew")
    return duty


def _all_signed(hold: Hold) -> str:
    return f"nothing is left to sign, and it opens nothing: {hold.suspended}" if hold.suspended else (
        "it is released, and nothing is left to sign")  # fmt: skip


def _found(found: Assessment, point: str, at: str) -> Hold:
    names = {hold.point.id: {hold.point.id, hold.point.title.casefold()} for hold in found.holds}
    holds = [hold for hold in found.holds if point.strip().casefold() in names[hold.point.id] and at in ("", hold.at)]
    if not holds:
        known = ", ".join(dict.fromkeys(hold.point.id for hold in found.holds))
        raise AnswerError(f"there is no hold point {point!r}{f' of {at}' if at else ''}; expected one of {known}")
    if len(holds) > 1:
        raise AnswerError(f"{point} stands for {', '.join(hold.at for hold in holds)}; say which with --component")
    return holds[0]
