"""Words about the day that several of its sentences share: boards left, the last row, lengths."""
from __future__ import annotations

from capture.tape import format_length
from desk.actions.day import Day, boards_to_come
from layout.replan.forecast import LastRow


def count_words(number: int, what: str) -> str:
    """So many of a thing."""
    return f"{number or 'No'} {what}{'' if number == 1 else 's'}"


def boards_words(day: Day) -> str:
    """Boards left and needed, and when to buy more."""
    left, to_come = day.now.left, boards_to_come(day)
    if to_come <= left:
        return f"{count_words(left, 'board')} left, {to_come} needed."
    short = to_come - left
    packs = -(-short // day.plan.board.pack)
    return (f"{count_words(max(left, 0), 'board')} left, but {to_come} needed: {short} short. Buy "
            f"{'a pack' if packs == 1 else f'{packs} packs'} before row {_runs_out(day, left)}.")


def _runs_out(day: Day, left: int) -> int:
    """The row in which the boards on hand come to an end."""
    begun = {piece.board for row in day.plan.rows[: day.now.held] for piece in row.pieces} | {
        piece.board for piece in day.plan.owned if piece.board
    }
    for row in day.plan.rows[day.now.held:]:
        begun_here = {piece.board for piece in row.pieces} - begun
        left -= len(begun_here)
        begun |= begun_here
        if left < 0:
            return row.number
    return len(day.plan.rows)


def last_row_words(day: Day, show: str) -> str:
    """How wide the last row comes out, where that is not as planned."""
    if not day.outlook.matters or day.now.down >= len(day.plan.rows):
        return ""
    ends = day.outlook.ends
    same = len({(round(end.planned_mm), round(end.mean_mm)) for end in ends}) == 1
    shown = ends[:1] if same else ends
    board = day.plan.board.width_mm
    words = " and ".join(f"{_wide(end, show)}{'' if same else f' at its {end.side}'} {_instead_words(end, board, show)}"
                         for end in shown)
    return f"Row {len(day.plan.rows)}, the last, will be {words}."


def _instead_words(end: LastRow, board_mm: float, show: str) -> str:
    """What was planned there: another number of rows may be the last now."""
    if end.planned_mm <= 0:
        return "where no row was planned"
    return "instead of " + ("a whole board" if end.planned_mm > board_mm + 1.0 else length_words(end.planned_mm, show))


def last_widths(day: Day, show: str) -> str:
    """How wide the last row will be, as the end of a sentence."""
    words = " and ".join(_wide(end, show) + f" at its {end.side}" for end in day.outlook.ends)
    return f": the last row will be {words}" if words else ""


def _wide(end: LastRow, show: str) -> str:
    """How wide the last row will be: nothing is narrower than 0 mm."""
    low, high = max(end.low_mm, 0.0), max(end.high_mm, 0.0)
    return between_words((low + high) / 2, (high - low) / 2, show)


def between_words(mm: float, pm95_mm: float, show: str) -> str:
    """A length that may be that much more or less."""
    low, high = mm - pm95_mm, mm + pm95_mm
    if show == "imperial":
        return f"{format_length(low, show=show)} to {format_length(high, show=show)}"
    return f"{low:.0f} to {high:.0f} mm"


def length_words(mm: float, show: str) -> str:
    """A length."""
    return format_length(mm, show=show)
