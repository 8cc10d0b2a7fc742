"""Which known word a misspelt one was meant to be, if any."""

from collections.abc import Collection

MOST_SLIPS = 2
SLIPS_A_LETTER = 1 / 3  # fewer than this; of a short word too little would be left


def nearest_word(word: str, known: Collection[str]) -> str | None:
    """The known word that a misspelt one is close to, None where none is.

    Close is one or two slips away, fewer than a third of its letters, or begun and not ended:
    ``wood_beside`` for ``wood_beside_channel``.
    """
    found = [(slips(word, other), other) for other in known if _worth_counting(word, other)]
    most = min(MOST_SLIPS, SLIPS_A_LETTER * len(word) - 1e-9)
    if near := [pair for pair in found if pair[0] <= most]:
        return min(near)[1]
    begun = [other for other in known if other.startswith(f"{word}_")]
    return begun[0] if len(begun) == 1 else None


def _worth_counting(word: str, other: str) -> bool:
    return abs(len(word) - len(other)) <= MOST_SLIPS


def slips(word: str, other: str) -> int:
    """How many letters are wrong, missing, too many, or changed round with their neighbour.

    The optimal string alignment distance (Damerau 1964, Levenshtein 1966; from memory).
    """
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(word, start=1):
        two_before, before, row = before, row, [i]
        for j, wanted in enumerate(other, start=1):
            count = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != wanted))
            if i > 1 and j > 1 and letter == other[j - 2] and word[i - 2] == wanted:
                count = min(count, two_before[j - 2] + 1)
            row.append(count)
    return row[-1]
