"""An independent referee of sheet layouts: it knows the problem and the rectangles, nothing of the engine."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

Rect = tuple[int, int, int, int]


def faults(problem, layout) -> list[str]:
    """What is wrong with a layout, in words; nothing when it holds."""
    parts = {part.key: part for part in problem.parts}
    stock = {sheet.key: sheet for sheet in problem.stock}
    found, cut = [], Counter(layout.unplaced)
    for number, sheet in enumerate(layout.sheets):
        board, trim = stock[sheet.stock], problem.trim_tenths
        for piece in sheet.pieces:
            part = parts[piece.part]
            straight = (part.length_tenths, part.width_tenths)
            ways = {straight, straight[::-1]} if part.may_turn else {straight}
            if (piece.length, piece.width) not in ways:
                found.append(f"sheet {number}: {piece.part} has another size")
            cut[piece.part] += 1
        rects = [(p.x, p.y, p.length, p.width) for p in sheet.pieces] + list(sheet.leftovers)
        for x, y, length, width in rects:
            if min(x, y) < trim or x + length > board.length_tenths - trim:
                found.append(f"sheet {number}: something leaves the sheet")
            if y + width > board.width_tenths - trim:
                found.append(f"sheet {number}: something leaves the sheet")
        if not can_be_parted(rects, problem.kerf_tenths):
            found.append(f"sheet {number}: no saw parts this")
    used = Counter(sheet.stock for sheet in layout.sheets)
    found += [f"{k}: too many" for k, n in used.items() if stock[k].count is not None and n > stock[k].count]
    found += [f"{k}: {cut[k]} of {p.count}" for k, p in parts.items() if cut[k] != p.count]
    return found + run_faults(problem, layout)


def can_be_parted(rects: list[Rect], kerf: int) -> bool:
    """Whether edge-to-edge cuts, a kerf wide, part all rectangles: every cut place is tried."""
    if len(rects) < 2:
        return True
    for axis in (0, 1):
        for at in {r[axis] + r[axis + 2] for r in rects}:
            before = [r for r in rects if r[axis] + r[axis + 2] <= at]
            behind = [r for r in rects if r[axis] >= at + kerf]
            if behind and len(before) + len(behind) == len(rects):
                # cuts never spoil a later one, so the first that parts anything will do
                return can_be_parted(before, kerf) and can_be_parted(behind, kerf)
    return False


def run_faults(problem, layout) -> list[str]:
    """Runs that are not side by side, in order, a kerf apart."""
    found = []
    for run in problem.runs:
        rows = [
            (n, piece.y, piece.x, piece)
            for n, sheet in enumerate(layout.sheets)
            for piece in sheet.pieces
            if piece.part in run
        ]
        rows.sort(key=lambda row: row[:3])
        for at in range(0, len(rows), len(run)):
            pieces = [row[3] for row in rows[at : at + len(run)]]
            steps = {b.x - a.x - a.length for a, b in pairwise(pieces)}
            if [p.part for p in pieces] != list(run) or not steps <= {problem.kerf_tenths}:
                found.append(f"run {run} is broken")
    return found
