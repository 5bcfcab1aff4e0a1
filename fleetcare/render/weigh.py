"""What a van carries, for the screen."""

from __future__ import annotations

from fleetcare.render.which import wrapped
from fleetcare.reports.hire import left_words
from fleetcare.reports.weigh import Figure, Weigh

_HEADS = {"yes": "fits", "no": "DOES NOT FIT", "cannot say": "nobody can say whether it fits"}


def weigh(report: Weigh) -> str:
    """Each figure with its limit and what is left, then what to leave behind."""
    asked = f" with {report.asked}" if report.asked else ""
    lines = wrapped(f"{report.van}{asked}: {_HEADS[report.fits]}.", "")
    wide = max((len(one.what) for one in report.figures), default=0)
    for one in report.figures:
        lines += wrapped(f"{one.what:<{wide}}  {_figure(one)}", "  ")
    if report.leave_behind:
        ways = "; or ".join(left_words(way) for way in report.leave_behind)
        far = "" if report.settled else " as far as anybody can say"
        lines += wrapped(f"To get inside{far}, leave behind {ways}.", "")
    lines += wrapped(f"Reckoned from: {report.base}.", "")
    lines += [line for caution in report.cautions for line in wrapped(f"caution: {caution}", "  ")]
    return "\n".join(lines)


def _figure(one: Figure) -> str:
    if one.value is None or one.limit is None or one.margin is None:
        return one.says
    margin = f"{abs(one.margin):,.0f} {one.unit} {'left' if one.margin >= 0 else 'TOO MUCH'}"
    words = f"{one.value:>6,.0f} {one.unit} of {one.limit:>6,.0f} {one.unit}, {margin}"
    return f"{words}; {one.says}" if one.says else words
