"""What a fuse in the main supply can do behind the supply's limit, in words."""

from __future__ import annotations

from burstwise.core.evaluate.results import Results
from burstwise.core.limits.fuse import OPENS_AT, RATED_CURRENTS, fuse_for
from burstwise.core.units import shown


def fuse_words(results: Results) -> str:
    """What the fitted fuse can do behind the supply's limit, and one that can do more.

    Parameters
    ----------
    results : Results
        Evaluated design with a fuse.
    """
    rating = results.design.protection.fuse_rating
    assert rating is not None
    limit = results.design.supply.current_limit
    opens = OPENS_AT * rating
    text = (
        f"A time-lag fuse of {shown(rating, 'A')} opens only above about {shown(opens, 'A')} "
        "(IEC 60127, from memory), and it protects wiring, not the transistor."
    )
    if opens <= limit:
        return text
    least = fuse_for(float(results.load.fuse_current))
    fits = [size for size in RATED_CURRENTS if least and least <= size <= limit / OPENS_AT]
    text += f" Behind a limit of {shown(limit, 'A')} it may never blow"
    if fits:
        return f"{text}: fit one of {shown(fits[-1], 'A')} instead."
    return (
        f"{text}, and none that does carries the load: the supply's limit is what protects, so set "
        "it as each stage says."
    )
