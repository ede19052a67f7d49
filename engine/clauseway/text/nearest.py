"""The valid name closest to one that was not recognised, and short lists of names for messages."""

from __future__ import annotations

from collections.abc import Iterable

_CLOSE_ENOUGH = 0.6
_LONGEST = 80
_SEPARATORS = str.maketrans(dict.fromkeys("-_ ./", None))


def _folded(word: str) -> str:
    """`word` as it is compared: without case and without separators."""
    return word.casefold().translate(_SEPARATORS)


def nearest(word: str, candidates: Iterable[str]) -> str | None:
    """The candidate most like `word`, ignoring case and separators, or None when none is close.

    The order of `candidates` does not matter: among equally close ones the alphabetically first is returned.
    """
    from difflib import SequenceMatcher

    wanted = _folded(word)
    if not wanted or len(wanted) > _LONGEST:
        return None
    matcher = SequenceMatcher(autojunk=False)
    matcher.set_seq2(wanted)
    best: str | None = None
    best_ratio = 0.0
    for candidate in sorted(set(candidates)):
        folded = _folded(candidate)
        if not folded:
            continue
        if folded == wanted:
            return candidate
        if len(folded) > _LONGEST:
            continue
        matcher.set_seq1(folded)
        floor = max(best_ratio, _CLOSE_ENOUGH)
        if matcher.real_quick_ratio() < floor or matcher.quick_ratio() < floor:
            continue
        ratio = matcher.ratio()
        if ratio >= _CLOSE_ENOUGH and ratio > best_ratio:
            best, best_ratio = candidate, ratio
    return best


def one_of(candidates: Iterable[str], limit: int = 8) -> str:
    """`a, b or c` in the order given; beyond `limit` names the rest are only counted."""
    names = list(dict.fromkeys(candidates))
    if len(names) > limit:
        return f"{', '.join(names[:limit])} or {len(names) - limit} more"
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} or {names[-1]}"
