"""Make ``text/general.txt``: everyday English sampled from pocketsphinx's general language model.

Run ``python -m capture.vocabulary.sample_general``; takes some minutes. The model knows 72,547 words; the
sample keeps to its 5,000 commonest. Pairs of words come from the model written out as text (the
package's own writer crashes after the pairs, which are all that is needed, so it runs in a process
of its own); which of the followers of a pair is drawn is weighted by the model's trigram probability.
"""

from __future__ import annotations

import multiprocessing
import re
import sys
import tempfile
from bisect import bisect
from itertools import accumulate
from pathlib import Path
from random import Random

from capture.vocabulary.narration import TEXT_DIR

SENTENCES = 12_000
COMMONEST = 5_000
_LONGEST_WORDS = 24
_SEED = 20
GENERAL_TEXT = TEXT_DIR / "general.txt"


def general_model_path() -> Path:
    """Return the general language model in the pocketsphinx package."""
    import pocketsphinx

    return Path(pocketsphinx.get_model_path()) / "en-us" / "en-us.lm.bin"


def _write_out(path: str) -> None:
    from pocketsphinx import NGramModel

    NGramModel.readfile(str(general_model_path())).write(path)


def read_pairs(path: Path) -> dict[str, list[str]]:
    """Return the followers of each of the commonest words, from a model written out as ARPA text."""
    unigrams: list[tuple[float, str]] = []
    followers: dict[str, list[str]] = {}
    keep: set[str] = set()
    section = 0
    with path.open(encoding="utf-8", errors="replace") as lines:
        for line in lines:
            if line.startswith("\\"):
                section = int(line[1]) if line[1].isdigit() else 0
                if section == 2:
                    unigrams.sort(reverse=True)
                    keep = {word for _, word in unigrams[:COMMONEST]} | {"</s>"}
                continue
            fields = line.split()
            if section == 1 and len(fields) >= 2 and re.fullmatch(r"[a-z]+('[a-z]+)?", fields[1]):
                unigrams.append((float(fields[0]), fields[1]))
            elif (
                section == 2
                and len(fields) == 4
                and fields[2] in keep
                and (fields[1] in keep or fields[1] == "<s>")
            ):
                followers.setdefault(fields[1], []).append(fields[2])
    return followers


def sample_sentences(followers: dict[str, list[str]], count: int, seed: int = _SEED) -> list[str]:
    """Draw sentences word by word."""
    from pocketsphinx import LogMath, NGramModel

    model = NGramModel.readfile(str(general_model_path()))
    math = LogMath()
    rng = Random(seed)  # noqa: S311  not for secrets
    tables: dict[tuple[str, str], tuple[list[str], list[float]]] = {}

    def next_word(before: str, word: str) -> str:
        if (before, word) not in tables:
            words = followers.get(word, ["</s>"])
            history = [word, before] if before else [word]
            # The binding wants the word first, then what stood before it, nearest first.
            weights = [math.exp(model.prob([after, *history])) for after in words]
            tables[before, word] = (words, list(accumulate(weights)))
        words, summed = tables[before, word]
        return words[min(bisect(summed, rng.random() * summed[-1]), len(words) - 1)]

    sentences: set[str] = set()
    while len(sentences) < count:
        said: list[str] = []
        before, word = "", "<s>"
        while len(said) < _LONGEST_WORDS:
            before, word = word, next_word(before, word)
            if word == "</s>":
                break
            said.append(word)
        if len(said) > 1:
            sentences.add(" ".join(said))
    return sorted(sentences)


def main() -> None:
    """Write the sample."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "general.arpa"
        writer = multiprocessing.get_context("spawn").Process(target=_write_out, args=(str(path),))
        writer.start()
        writer.join()
        followers = read_pairs(path)
    if len(followers) < COMMONEST // 2:
        sys.exit("the general model could not be written out")
    head = (
        "# Sampled from the general language model of the pocketsphinx package (BSD-like licence) by\n"
        "# capture/vocabulary/sample_general.py. Nobody said these sentences; they teach what everyday "
        "talk sounds like.\n"
    )
    GENERAL_TEXT.write_text(head + "\n".join(sample_sentences(followers, SENTENCES)) + "\n", encoding="ascii")


if __name__ == "__main__":
    main()
