"""How easy sentences read, by the formulas published for a language.

None of the papers was at hand. The second formula was read second hand, in several descriptions
that print it alike; the others are from memory, unverified.

* English: Flesch, "A new readability yardstick", Journal of Applied Psychology 32 (1948) 221-233;
  from 80 on he calls a text easy.
* Spanish: Fernández Huerta, "Medidas sencillas de lecturabilidad", Consigna 214 (1959) 29-32; from
  80 on he calls a text easy.
* French: Kandel and Moles, "Application de l'indice de Flesch à la langue française", Cahiers
  Etudes de Radio-Télévision 19 (1958) 253-274; on the scale of Flesch.
* Polish: Pisarek, "Jak mierzyć zrozumiałość tekstu?", Zeszyty Prasoznawcze 4 (1969) 35-48: half the
  root of two squares, of the words a sentence and of the per cent of words of four syllables and
  more. Less is easier; about the years of school that a text asks for.

For Portuguese and Romanian no formula was found that is published for the language, so they are not
measured. Syllables are counted by their vowels, without a dictionary: common practice, no source.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

WORD = re.compile(r"[^\W\d_]+(?:['\u2019-][^\W\d_]+)*")
ENDS = re.compile(r"[.!?]+")
GAP = re.compile(r"\{\w+\}")
HARD_SYLLABLES = 4
STRONG = "aáeéoóíú"


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """What a formula is fed with."""

    words: int
    sentences: int
    syllables: int
    hard_words: int

    @property
    def words_per_sentence(self) -> float:
        return self.words / self.sentences

    @property
    def syllables_per_word(self) -> float:
        return self.syllables / self.words


def counted(texts: Iterable[str], syllables: Callable[[str], int]) -> Counts:
    """Count the words of sentences with their gaps left out."""
    pieces = [piece for text in texts for piece in ENDS.split(GAP.sub(" ", text))]
    found = [words for piece in pieces if (words := WORD.findall(piece))]
    lengths = [syllables(word.lower()) for words in found for word in words]
    return Counts(
        words=len(lengths),
        sentences=len(found),
        syllables=sum(lengths),
        hard_words=sum(length >= HARD_SYLLABLES for length in lengths),
    )


def english_syllables(word: str) -> int:
    groups = len(re.findall(r"[aeiouy]+", word))
    silent = re.search(r"[^aeiouyl]e$|[^aeiouytd]ed$|[^aeioucsxzgh]es$", word) is not None
    return max(1, groups - silent)


def spanish_syllables(word: str) -> int:
    plain = re.sub(r"([qg])u(?=[eiéí])", r"\1", re.sub(r"y$", "i", word))
    groups = re.findall(r"[aeiouáéíóúü]+", plain)
    breaks = sum(
        one in STRONG and two in STRONG for group in groups for one, two in pairwise(group)
    )
    return max(1, len(groups) + breaks)


def french_syllables(word: str) -> int:
    groups = len(re.findall(r"[aeiouyàâäéèêëîïôöùûüœæ]+", word))
    return max(1, groups - (re.search(r"[^aeiouyéè](?:e|es|ent)$", word) is not None))


def polish_syllables(word: str) -> int:
    # An i before a vowel only softens what stands before it.
    return max(1, len(re.findall(r"[aąeęoóuy]|i(?![aąeęoóuy])", word)))


def flesch(found: Counts) -> float:
    return 206.835 - 1.015 * found.words_per_sentence - 84.6 * found.syllables_per_word


def fernandez_huerta(found: Counts) -> float:
    return 206.84 - 1.02 * found.words_per_sentence - 60.0 * found.syllables_per_word


def kandel_moles(found: Counts) -> float:
    return 207.0 - 1.015 * found.words_per_sentence - 73.6 * found.syllables_per_word


def pisarek(found: Counts) -> float:
    return hypot(found.words_per_sentence, 100.0 * found.hard_words / found.words) / 2.0


FORMULAS: Mapping[str, tuple[Callable[[Counts], float], Callable[[str], int]]] = {
    "en": (flesch, english_syllables),
    "es": (fernandez_huerta, spanish_syllables),
    "es-ES": (fernandez_huerta, spanish_syllables),
    "fr": (kandel_moles, french_syllables),
    "pl": (pisarek, polish_syllables),
}


def ease(code: str, texts: Iterable[str]) -> float:
    """Return how easy texts read in a language, by its formula."""
    formula, syllables = FORMULAS[code]
    return formula(counted(texts, syllables))
