"""Break a key formula, run the quick tests that belong to it, count the breaks that nobody notices.

    python tests/break_once.py                 # every break, each with the tests of its room
    python tests/break_once.py lag tyre        # breaks whose file or text holds one of these words
    python tests/break_once.py --whole         # each break with all quick tests
    python tests/break_once.py --check         # only: is every text still where the table says?

A break is applied in a copy of the checkout, never in the checkout itself. Leaves with 1 when fewer than
92 % are noticed or a break marked `MUST` survives.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from itertools import count
from pathlib import Path
from queue import Queue

from breaks import BREAKS, TESTS, Break

ROOT = Path(__file__).parent.parent
LEAST_NOTICED = 0.92
MOST_SECONDS = 1200
NOTICED, SURVIVED = "noticed", "SURVIVED"
STAMPS = count(10**9)


def broken(text: str, item: Break) -> str:
    """The file's text with the one change.

    Raises
    ------
    LookupError
        The old text is not there exactly once.
    """
    if text.count(item.old) != 1:
        raise LookupError(f"{item.file}: {text.count(item.old)} times: {item.old!r}; renew tests/breaks.py")
    return text.replace(item.old, item.new)


def tests_of(file: str, root: Path) -> list[str]:
    """The quick tests that belong to a file: those of the longest name in the table that it starts with."""
    key = max((name for name in TESTS if file.startswith(name)), key=len)
    named = [path for path in TESTS[key] if (root / path).exists()]
    if missing := set(TESTS[key]) - set(named):
        raise LookupError(f"{key}: no such test file: {', '.join(sorted(missing))}; renew tests/breaks.py")
    return [file, *named]


def copied(target: Path) -> Path:
    """The checkout without what git does not know."""
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    for name in listed.stdout.splitlines():
        if (ROOT / name).is_file():
            (target / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(ROOT / name, target / name)
    return target


def run_tests(copy: Path, tests: list[str]) -> subprocess.CompletedProcess[str]:
    """The tests in one process, up to the first that fails."""
    one = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"), "1")
    cache = tempfile.mkdtemp(prefix="break-once-cache-", dir=copy)
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-n", "0", "-x", "-q", "-p", "no:cacheprovider", *tests],
        cwd=copy,
        env=os.environ | one | {"PYTHONPATH": str(copy), "WINGTOOL_CACHE": cache},
        capture_output=True,
        text=True,
        timeout=MOST_SECONDS,
    )


def tried(item: Break, copy: Path, whole: bool) -> tuple[str, str]:
    """The word for one break, and the test that noticed it."""
    path = copy / item.file
    sound = path.read_text(encoding="utf-8")
    try:
        write_anew(path, broken(sound, item))
        done = run_tests(copy, [] if whole else tests_of(item.file, copy))
    except subprocess.TimeoutExpired:
        return NOTICED, "time ran out"
    finally:
        write_anew(path, sound)
    failed = [line for line in done.stdout.splitlines() if line.startswith(("FAILED", "ERROR"))]
    return (NOTICED, failed[0][:90] if failed else "") if done.returncode else (SURVIVED, "")


def all_pass(copy: Path, tests: list[str]) -> None:
    """The tests must pass before anything is broken, else each break would seem noticed.

    Raises
    ------
    RuntimeError
        They do not.
    """
    started = time.monotonic()
    done = run_tests(copy, tests)
    if done.returncode:
        raise RuntimeError(
            f"the tests fail before anything is broken:\n{done.stdout[-3000:]}{done.stderr[-500:]}"
        )
    print(f"{len(tests)} test files pass in {time.monotonic() - started:.0f} s", flush=True)


def write_anew(path: Path, text: str) -> None:
    """Write with a time of its own: two versions within a second must not share one compiled file."""
    path.write_text(text, encoding="utf-8")
    stamp = next(STAMPS)
    os.utime(path, (stamp, stamp))


def not_there(item: Break) -> str:
    """What is the matter with a line of the table; empty if nothing."""
    try:
        broken((ROOT / item.file).read_text(encoding="utf-8"), item)
        tests_of(item.file, ROOT)
    except (LookupError, OSError) as error:
        return str(error)
    return ""


def main() -> int:
    """Try the breaks asked for; the exit code."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("words", nargs="*", help="only breaks whose file or text holds one of these words")
    parser.add_argument("--whole", action="store_true", help="all quick tests for each break")
    parser.add_argument("--check", action="store_true", help="only look whether every text is there")
    parser.add_argument("--jobs", type=int, default=1, help="breaks at a time")
    given = parser.parse_args()
    chosen = [b for b in BREAKS if not given.words or any(w in f"{b.file} {b.old}" for w in given.words)]
    missing = list(filter(None, map(not_there, chosen)))
    print(*missing, f"{len(chosen)} breaks, {len(missing)} not to be found", sep="\n")
    if missing or given.check:
        return int(bool(missing))
    with tempfile.TemporaryDirectory(prefix="break-once-") as folder:
        return report(chosen, tries(chosen, Path(folder), given.jobs, given.whole))


def tries(chosen: list[Break], folder: Path, jobs: int, whole: bool) -> list[str]:
    """The word for each break, printed as it comes."""
    copies: Queue[Path] = Queue()
    for k in range(jobs):
        copies.put(copied(folder / str(k)))
    if not whole:
        all_pass(copies.queue[0], sorted({name for item in chosen for name in tests_of(item.file, ROOT)}))

    def one(item: Break) -> str:
        copy, started = copies.get(), time.monotonic()
        try:
            word, by = tried(item, copy, whole)
        finally:
            copies.put(copy)
        change = f"{' '.join(item.old.split())[:44]} -> {' '.join(item.new.split())[:44]}"
        print(f"{word:8} {time.monotonic() - started:5.0f} s  {item.file}: {change}  {by}", flush=True)
        return word

    with ThreadPoolExecutor(jobs) as pool:
        return list(pool.map(one, chosen))


def report(chosen: list[Break], words: list[str]) -> int:
    """Print the count; 1 when the bar is missed."""
    noticed = words.count(NOTICED)
    named = [b for b, word in zip(chosen, words, strict=True) if b.must and word == SURVIVED]
    print(f"{noticed} of {len(words)} noticed ({noticed / max(len(words), 1):.0%})")
    for item in named:
        print(f"must be noticed: {item.file}: {item.old}")
    return int(bool(named) or noticed < LEAST_NOTICED * len(words))


if __name__ == "__main__":
    sys.exit(main())
