"""Compiling a vocabulary in a process of its own, for those that run long.

Compiling takes some twenty seconds and 650 MB, and what a process has once taken it keeps. The ears of a
bench run all day and start together: one of them has it compiled by a child, the others wait for that.
"""

from __future__ import annotations

import fcntl
import subprocess
import sys
from pathlib import Path

from capture.vocabulary.compiled import compile_vocabulary, is_compiled, vocabulary_sha256
from shared.errors import RebuildError, VocabularyError
from shared.job_sheet import JobSheet

_MODULE = "capture.vocabulary.apart"


def compile_apart(sheet: JobSheet, cache_dir: Path) -> bool:
    """See to it that a sheet's vocabulary lies in the cache; return whether it had to be compiled.

    Args:
        sheet: of the job.
        cache_dir: of compiled vocabularies.

    Raises:
        VocabularyError: it cannot be compiled, or the cache cannot be written.
    """
    if is_compiled(sheet, cache_dir):
        return False
    lock = cache_dir / f".{vocabulary_sha256(sheet)}.lock"
    try:
        cache_dir.mkdir(parents=True, exist_ok=True)
        with lock.open("a") as file:
            fcntl.flock(file, fcntl.LOCK_EX)
            if is_compiled(sheet, cache_dir):
                return False
            _compile_in_child(sheet, cache_dir)
            return True
    except OSError as exc:
        raise VocabularyError(
            f"cannot be compiled: {exc.strerror or exc}",
            where=str(cache_dir),
            remedy="free some room or name another folder with WITNESSMARK_CACHE_DIR",
        ) from exc


def _compile_in_child(sheet: JobSheet, cache_dir: Path) -> None:
    command = [sys.executable, "-m", _MODULE, str(cache_dir)]
    text = sheet.model_dump_json(by_alias=True)
    done = subprocess.run(command, input=text, text=True, capture_output=True, check=False)  # noqa: S603 - ourselves
    if done.returncode:
        last = (done.stderr.strip() or f"stopped with {done.returncode}").splitlines()[-1]
        raise VocabularyError(
            f"cannot be compiled: {last}", where=sheet.id, remedy="free memory and try again"
        )


def main(arguments: list[str]) -> int:
    """Compile the sheet that comes in (JSON); the whole life of the child."""
    try:
        compile_vocabulary(JobSheet.model_validate_json(sys.stdin.read()), Path(arguments[0]))
    except RebuildError as exc:
        print(exc, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
