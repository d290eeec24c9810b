"""`tripplan demo`: write an invented trip folder and plan it."""

from pathlib import Path

from tripplan.commands.plan import plan_into
from tripplan.commands.status import MADE, refused, tells_refusals
from tripplan.commands.terminal import say
from tripplan.files.demos import DEMOS, copy_demo


@tells_refusals
def demo(name: str, out: Path | None, as_json: bool) -> int:
    """Write a demo folder and plan it; without a name, list the demos.

    The status is 0 once it is made: what a demo warns of is there to be seen.
    """
    if name not in DEMOS:
        listed = ", ".join(DEMOS)
        if name:
            raise refused("A03", name, f"one of {listed}")
        say(f"Demos: {listed}. Run: tripplan demo NAME")
        return MADE
    target = out or Path(f"tripplan-demo-{name}")
    copy_demo(name, target)
    if not as_json:
        say(f"Invented demo folder written to {target}; planned as seen on {DEMOS[name]}.\n")
    plan_into(target, target / "outputs", DEMOS[name], as_json)
    return MADE
