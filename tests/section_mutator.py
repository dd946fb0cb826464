"""Spoils coordinate files as editors, spreadsheets, digitisers and bad disks do. Seeded, hence repeatable."""

import random

JUNK = ["nan", "inf", "-", "1e999", "0.5.5", "x", "abc", "1,5", "--0.1", "0x1F", "1_0", "\u0663", "-1e9"]
LINES = ["", "lower", "17. 17.", "0 0", "5 5 5", "99 99", "\t", "# note", "0.3", "1 0", "2412"]


def _line(rng, lines):
    return rng.randrange(len(lines))


def drop_lines(rng, lines):
    start = _line(rng, lines)
    return lines[:start] + lines[start + rng.randint(1, 30) :]


def repeat_line(rng, lines):
    i = _line(rng, lines)
    return lines[:i] + [lines[i]] * rng.randint(2, 4) + lines[i + 1 :]


def swap_lines(rng, lines):
    lines = list(lines)
    i, j = _line(rng, lines), _line(rng, lines)
    lines[i], lines[j] = lines[j], lines[i]
    return lines


def junk_token(rng, lines):
    lines = list(lines)
    i = _line(rng, lines)
    tokens = lines[i].split() or [""]
    tokens[rng.randrange(len(tokens))] = rng.choice(JUNK)
    lines[i] = " ".join(tokens)
    return lines


def junk_line(rng, lines):
    i = _line(rng, lines)
    return lines[:i] + [rng.choice([*JUNK, *LINES])] + lines[i:]


def cut_line(rng, lines):
    lines = list(lines)
    i = _line(rng, lines)
    lines[i] = lines[i][: rng.randint(0, max(len(lines[i]), 1))]
    return lines


def scale(rng, lines):
    factor = rng.choice([100.0, 250.0, -1.0, 0.0, 1e-9, 1e7, 25.4])
    return [_on_numbers(line, lambda v: v * factor) for line in lines]


def shift_slip(rng, lines):
    lines = list(lines)
    i = _line(rng, lines)
    power = rng.choice([-2, -1, 1, 2])
    lines[i] = _on_numbers(lines[i], lambda v: v * 10.0**power)
    return lines


def _on_numbers(line, change):
    try:
        return " ".join(f"{change(float(v)):.6g}" for v in line.split())
    except ValueError:
        return line


def backwards(_, lines):
    return lines[::-1]


def shuffle(rng, lines):
    lines = list(lines)
    rng.shuffle(lines)
    return lines


def columns_swapped(_, lines):
    return [" ".join(line.split()[::-1]) for line in lines]


def separator(rng, lines):
    mark = rng.choice([",", ";", "\t", " , ", ";;", "|"])
    return [mark.join(line.split()) for line in lines]


def decimal_comma(_, lines):
    return [line.replace(".", ",") for line in lines]


def quoted_comma(rng, lines):
    mark = rng.choice([",", ";", " "])
    return [mark.join(f'"{token}"' for token in line.replace(".", ",").split()) for line in lines]


def three_columns(rng, lines):
    return [f"{i} {line}" if rng.random() < 0.97 else line for i, line in enumerate(lines)]


LINE_MUTATIONS = [
    drop_lines, repeat_line, swap_lines, junk_token, junk_line, cut_line, scale, shift_slip,
    backwards, shuffle, columns_swapped, separator, decimal_comma, quoted_comma, three_columns,
]  # fmt: skip


def spoil_bytes(rng, data):
    data = bytearray(data)
    for _ in range(rng.randint(1, 8)):
        if data:
            data[rng.randrange(len(data))] = rng.randrange(256)
    return bytes(data[: rng.randint(0, len(data))]) if rng.random() < 0.3 else bytes(data)


def spoil(text: str, seed: int) -> bytes:
    """One spoiled copy of a coordinate file."""
    rng = random.Random(seed)
    lines = text.splitlines()
    for _ in range(rng.randint(1, 3)):
        lines = rng.choice(LINE_MUTATIONS)(rng, lines) or ["x"]
    data = rng.choice(["\n", "\r\n", "\r"]).join(lines).encode(rng.choice(["utf-8", "utf-8-sig", "utf-16"]))
    return spoil_bytes(rng, data) if rng.random() < 0.15 else data
