"""What goes in and out: intake clamps, air leaks, exhaust joints, open or baffled."""

from __future__ import annotations

from tickover.book.bodies import Work
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.tasks import proving
from tickover.tasks.finding import Check, Finding, Wanted
from tickover.tasks.simple import simple_finding

JOINTS = "exhaust joints"
CLAMPS = "intake clamps"
AIR = "air leaks"
CONDITION = "exhaust condition"
NAMES = (CLAMPS, JOINTS, AIR, CONDITION)
CHANGED = "exhaust changed"
KINDS = ("standard", "baffled", "open")


def exhaust_condition(engine: EngineFile, state: State) -> str:
    """What stands at the exhaust now: 'standard', 'baffled', 'open', or '' when nobody said.

    The latest work 'exhaust changed' with its detail 'silencers', else the engine file. Mixture
    and noise readings depend on it.
    """
    for work in reversed(state.works(CHANGED)):
        now = str(work.body.detail.get("silencers", ""))
        if now in KINDS:
            return now
    return engine.exhaust.silencers if engine.exhaust is not None else ""


def changed_entry(silencers: str, note: str = "") -> Work:
    """The entry for another exhaust, or silencers off or on.

    Raises
    ------
    InputError
        If it is neither standard, baffled nor open.
    """
    word = silencers.strip().casefold()
    if word not in KINDS:
        raise InputError("The silencers are standard, baffled or open", given=silencers,
                         allowed=", ".join(KINDS))  # fmt: skip
    detail = {"silencers": word, **({"note": note} if note else {})}
    return Work(CHANGED, (), detail)


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """The checks of intake and exhaust."""
    if not proving.described(engine):
        return ()
    made = [
        Check(
            CLAMPS, "", "Intake clamps", "that no air gets in past the carburettors",
            "Every rubber whole and pushed home, every clamp tight, vacuum take-offs capped; rock "
            "each carburettor by hand.",
            proving.START, minutes=5.0, risk=2, group="intake and exhaust",
        ),
        Check(
            JOINTS, "", "Exhaust joints", "that no hot gas blows on hands or hoses, and no air in",
            "New gaskets, nuts evenly tight, pipes without strain, no rag left inside; once it "
            "runs, cold: a gloved hand near each joint, never on it.",
            proving.START, cautions=(proving.HOT, proving.MONOXIDE), minutes=8.0,
            group="intake and exhaust",
        ),
        Check(
            AIR, "", "No air leaks when running", "that the idle is the carburettors' own",
            "Warm idle: nip each rubber, wet it with water from a spray bottle; the idle must not "
            "change. Never with fuel or brake cleaner: they burn.",
            proving.RIDING, needs=(CLAMPS,),
            cautions=(proving.MONOXIDE, proving.HOT, proving.TURNING),
            minutes=8.0, group="intake and exhaust",
        ),
    ]  # fmt: skip
    if engine.exhaust is not None:
        now = exhaust_condition(engine, state)
        made.append(
            Check(
                CONDITION, "", f"Exhaust is {now}", "what mixture and noise readings go with",
                f"Look: silencers {now}, as written. If not, write 'exhaust changed'. Open pipes: "
                "ears covered, neighbours warned, not on the road.",
                proving.HAND_OVER, minutes=1.0, risk=0, group="intake and exhaust",
                wanted=Wanted("yes", prompt=f"silencers are {now}"),
            )
        )  # fmt: skip
    return tuple(made)


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the readings say of intake and exhaust."""
    made = (simple_finding(engine, check, state) for check in checks(engine, state))
    return tuple(finding for finding in made if finding is not None)
