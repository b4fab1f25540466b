"""Where a joiner of no width belongs to how a word is spelled, and where it only hides."""

import pytest

from haccp.signs import clusters, folded, is_spelling
from tests.kitchens import Kitchen

NON_JOINER, JOINER = "\u200c", "\u200d"
# A word that its script spells with a joiner, and the published rule that it falls under.
SPELLED = {
    "a letter, in Persian": ("نامه\u200cای", "L2/06-353, the example of 1; RFC 5892 A.1"),
    "fried egg, in Persian": ("نیم\u200cرو", "RFC 5892 A.1: Joining_Type D, then R"),
    "with a vowel mark before": ("نِیمِ\u200cرو", "RFC 5892 A.1: (Joining_Type:T)*"),
    "a half letter, in Hindi": ("क्\u200dष", "RFC 5892 A.2: after a virama"),
    "no conjunct, in Hindi": ("क्\u200cष", "RFC 5892 A.1: after a virama"),
    "shri, in Sinhala": ("ශ්\u200dරී", "RFC 5892 A.2: after a virama"),
}
HIDDEN = {
    "between Latin letters": "bean\u200cstew",
    "a joiner between Latin letters": "bean\u200dstew",
    "at the beginning": "\u200cنیمرو",
    "at the end": "نیمرو\u200c",
    "after a letter that joins nothing after it": "کار\u200cها",
    "a joiner between letters that join": "نی\u200dمرو",
    "twice": "نیم\u200c\u200cرو",
    "before a space": "نیم\u200c رو",
    "between two scripts": "نیم\u200cа",
    "between a virama and another script": "क्\u200ca",
    "a joiner before a vowel sign": "क्\u200dा",
    "in a picture": "👩\u200d🍳",
}


@pytest.mark.parametrize(("word", "source"), SPELLED.values(), ids=SPELLED)
def test_a_joiner_that_its_script_spells_words_with_stays(word: str, source: str) -> None:
    places = [n for n, sign in enumerate(word) if sign in (NON_JOINER, JOINER)]
    assert places
    assert all(is_spelling(word, place) for place in places), source
    assert "".join(clusters(word)) == word
    # it stands with the letter before it, so that nothing breaks or is set between them
    assert all(one[0] not in (NON_JOINER, JOINER) for one in clusters(word))


@pytest.mark.parametrize("word", HIDDEN.values(), ids=HIDDEN)
def test_a_joiner_that_nobody_sees_does_not(word: str) -> None:
    places = [n for n, sign in enumerate(word) if sign in (NON_JOINER, JOINER)]
    assert not all(is_spelling(word, place) for place in places)


def test_a_word_is_the_same_however_its_letters_are_parted() -> None:
    assert folded("نیم\u200cرو") == folded("نیمرو")


def test_a_persian_name_is_taken_and_a_hidden_joiner_is_not(kitchen: Kitchen) -> None:
    kitchen.says("add food نیم\u200cرو --kind 'plant food' --by AR")
    kitchen.says("batch نیم\u200cرو")
    kitchen.says('cook batch-1026 199 --note "می\u200cجوشد"')
    shown = kitchen.says("show batch-1026")
    assert "نیم\u200cرو" in shown
    assert "می\u200cجوشد" in shown
    for name in ("white\u200cbean", "کار\u200cها"):
        assert "holds a character that cannot be printed" in kitchen.refuses(f"batch {name}")
