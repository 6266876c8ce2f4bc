"""Tiny Whisper models that always say one scripted sentence: built in the test, never fetched.

faster-whisper loads, decodes and aligns them as it does any other; only their weights are made by hand.
Each word of the script is a token of its own that is followed by the next one, whatever stands before
(no positions, so hotwords in the prompt change nothing), and looks at its own stretch of the sound, so
that the library's word alignment finds the times that were scripted.
"""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from ctranslate2.specs import WhisperSpec
from numpy.typing import NDArray
from tokenizers import Regex, Tokenizer, decoders, models, pre_tokenizers

#: What a position of the encoder stands for.
FRAME_S = 0.02
_FRAMES = 1500
_POSITIONS = 448
_MELS = 80
_SPECIAL = (
    "<|endoftext|>",
    "<|startoftranscript|>",
    "<|translate|>",
    "<|transcribe|>",
    "<|startoflm|>",
    "<|startofprev|>",
    "<|nospeech|>",
    "<|notimestamps|>",
)
#: Logit of the word that follows, and how far below it a rival is.
_SURE, _RIVAL = 24.0, 1.0

Weights = NDArray[np.float32]


def build_tiny_whisper(
    folder: Path,
    sentence: str,
    *,
    word_s: float = 0.2,
    unsure: Sequence[int] = (),
    rivals: int = 3,
    no_speech: bool = False,
) -> Path:
    """Build a model that says a sentence, with all files that a published one has.

    Args:
        folder: to make it in.
        sentence: what it says, words parted by spaces, at most 60.
        word_s: length of each word; the first begins at 0.
        unsure: numbers of the words (from 0) that have rivals.
        rivals: how many; each is exp(-1) times as likely as the word.
        no_speech: finds it likely that nobody speaks, besides.

    Returns:
        The folder.
    """
    words = sentence.split()
    vocabulary = _vocabulary(words, unsure, rivals)
    width = 8 * -(-(len(words) + 3) // 8)  # one dimension a word, one for the start, spare ones
    folder.mkdir(parents=True, exist_ok=True)
    _save_model(folder, words, vocabulary, width, word_s, unsure, rivals, no_speech)
    _save_tokenizer(folder / "tokenizer.json", vocabulary)
    (folder / "preprocessor_config.json").write_text(json.dumps({"feature_size": _MELS}))
    return folder


def put_into_cache(model: Path, cache: Path, repository: str) -> Path:
    """Copy a model into a folder laid out like the hub's cache; return where its files are."""
    entry = cache / ("models--" + repository.replace("/", "--"))
    revision = "5" * 40
    (entry / "refs").mkdir(parents=True)
    (entry / "refs" / "main").write_text(revision)
    return Path(shutil.copytree(model, entry / "snapshots" / revision))


def _vocabulary(words: Sequence[str], unsure: Sequence[int], rivals: int) -> list[str]:
    """Return all tokens: one a word of the script (a word said twice is two), rivals, the library's own."""
    said = [f"▁{word}#{n}" for n, word in enumerate(words)]
    mumbled = [f"▁mumble{n}#{word}" for word in unsure for n in range(rivals)]
    times = [f"<|{n * FRAME_S:.2f}|>" for n in range(_FRAMES + 1)]
    return [*said, *mumbled, "▁", "<unk>", *_SPECIAL, *times]


def _save_tokenizer(path: Path, vocabulary: Sequence[str]) -> None:
    model = models.WordLevel({token: n for n, token in enumerate(vocabulary)}, unk_token="<unk>")
    tokenizer = Tokenizer(model)
    tokenizer.add_special_tokens([token for token in vocabulary if re.fullmatch(r"<\|.*\|>", token)])
    tokenizer.pre_tokenizer = pre_tokenizers.Metaspace()
    tokenizer.decoder = decoders.Sequence(
        [decoders.Replace(Regex(r"#\d+$"), ""), decoders.Replace("▁", " "), decoders.Fuse()]
    )
    tokenizer.save(str(path))


def _save_model(
    folder: Path,
    words: Sequence[str],
    vocabulary: list[str],
    width: int,
    word_s: float,
    unsure: Sequence[int],
    rivals: int,
    no_speech: bool,
) -> None:
    number = {token: n for n, token in enumerate(vocabulary)}
    spec = WhisperSpec(1, 1, 1, 1)
    _save_nothing_heard(spec, width)
    said = range(len(words))
    first, end, begin = len(words), number["<|endoftext|>"], number["<|0.00|>"]
    last = begin + round(len(words) * word_s / FRAME_S)
    # What stands in dimension n of the decoder's state: word n was said last; first: nothing but the
    # beginning was; first + 1: the end was.
    shows = {number["<|notimestamps|>"]: first, begin: first, last: first + 1}
    shows |= {n: n for n in said} | {number["<|startoftranscript|>"]: first + 2}
    follows = {first: 0, len(words) - 1: last, first + 1: end, first + 2: begin}
    follows |= {n: n + 1 for n in said[:-1]}
    hot = np.sqrt(width - 1)  # what the normalised state has in its one dimension
    embeddings, projection = np.zeros((2, len(vocabulary), width), np.float32)
    for token, dimension in shows.items():
        embeddings[token, dimension] = 1
    for dimension, token in follows.items():
        projection[token, dimension] = _SURE / hot
    for word in unsure:
        for n in range(rivals):
            projection[number[f"▁mumble{n}#{word}"], word - 1 if word else first] = (_SURE - _RIVAL) / hot
    if no_speech:
        projection[number["<|nospeech|>"], first + 2] = (_SURE + 1) / hot
    spec.decoder.embeddings.weight = embeddings
    spec.decoder.projection.weight = projection
    _listen_by_word(spec, width, len(words), word_s)
    spec.register_vocabulary(vocabulary)
    spec.config.alignment_heads = [(0, 0)]
    spec.config.suppress_ids = []
    spec.config.suppress_ids_begin = [end]
    spec.config.lang_ids = []
    spec.validate()
    spec.save(str(folder))


def _listen_by_word(spec: WhisperSpec, width: int, words: int, word_s: float) -> None:
    """Make word n look at the sound from n times ``word_s`` on: keys are the encoder's positions.

    The state that word n follows on shows word n - 1, or the beginning; so that is what its stretch shows.
    """
    places = np.zeros((_FRAMES, width), np.float32)
    for frame in range(_FRAMES):
        word = min(int(frame * FRAME_S / word_s), words)
        places[frame, word - 1 if word else words] = 1
    spec.encoder.position_encodings.encodings = places
    attention = spec.decoder.layer[0].attention
    queries, keys_values = np.eye(width, dtype=np.float32) * 2, np.zeros((2 * width, width), np.float32)
    keys_values[:width] = np.eye(width)
    attention.linear[0].weight = queries
    attention.linear[1].weight = keys_values


def _save_nothing_heard(spec: WhisperSpec, width: int) -> None:
    """Fill in all weights so that no layer adds anything to the state."""

    def zeros(*shape: int) -> Weights:
        return np.zeros(shape, np.float32)

    def norm(layer: object) -> None:
        layer.gamma, layer.beta = np.ones(width, np.float32), zeros(width)  # type: ignore[attr-defined]

    def linear(layer: object, out: int, into: int) -> None:
        layer.weight, layer.bias = zeros(out, into), zeros(out)  # type: ignore[attr-defined]

    spec.encoder.conv1.weight, spec.encoder.conv1.bias = zeros(width, _MELS, 3), zeros(width)
    spec.encoder.conv2.weight, spec.encoder.conv2.bias = zeros(width, width, 3), zeros(width)
    spec.decoder.position_encodings.encodings = zeros(_POSITIONS, width)
    for room in (spec.encoder, spec.decoder):
        norm(room.layer_norm)
        layer = room.layer[0]
        norm(layer.self_attention.layer_norm)
        linear(layer.self_attention.linear[0], 3 * width, width)
        linear(layer.self_attention.linear[1], width, width)
        norm(layer.ffn.layer_norm)
        linear(layer.ffn.linear_0, width, width)
        linear(layer.ffn.linear_1, width, width)
    attention = spec.decoder.layer[0].attention
    norm(attention.layer_norm)
    for n, out in enumerate((width, 2 * width, width)):
        linear(attention.linear[n], out, width)
