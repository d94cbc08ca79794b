"""Words about the day that several of its sentences share: boards left, the last row, lengths."""
from __future__ import annotations

from capture.language.messages import all_of, gettext, ngettext
from capture.tape import format_length
from desk.actions.day import Day, boards_to_come
from layout.replan.forecast import LastRow


def boards_counted(number: int) -> str:
    """So many boards, at the beginning of a sentence."""
    return ngettext("{count} board", "{count} boards", number) if number else gettext("No boards")


def boards_words(day: Day) -> str:
    """Boards left and needed, and when to buy more."""
    left, to_come = day.now.left, boards_to_come(day)
    if to_come <= left:
        return gettext("{boards} left, {needed} needed.", boards=boards_counted(left), needed=to_come)
    short = to_come - left
    return ngettext(
        "{boards} left, but {needed} needed: {short} short. Buy a pack before row {row}.",
        "{boards} left, but {needed} needed: {short} short. Buy {count} packs before row {row}.",
        -(-short // day.plan.board.pack), boards=boards_counted(max(left, 0)), needed=to_come, short=short,
        row=_runs_out(day, left))


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
    words = [gettext("{width} {instead}", width=_wide(end, show), instead=_instead_words(end, board, show)) if same else
             gettext("{width} {instead}", width=_at_its_side(end, show), instead=_instead_words(end, board, show))
             for end in shown]
    return gettext("Row {row}, the last, will be {words}.", row=len(day.plan.rows), words=all_of(words))


def _instead_words(end: LastRow, board_mm: float, show: str) -> str:
    """What was planned there: another number of rows may be the last now."""
    if end.planned_mm <= 0:
        return gettext("where no row was planned")
    if end.planned_mm > board_mm + 1.0:
        return gettext("instead of a whole board")
    return gettext("instead of {length}", length=length_words(end.planned_mm, show))


def last_widths(day: Day, show: str) -> str:
    """How wide the last row will be at its ends; "" where nothing tells."""
    words = [_at_its_side(end, show) for end in day.outlook.ends]
    return str(all_of(words)) if words else ""


def _at_its_side(end: LastRow, show: str) -> str:
    width = _wide(end, show)
    return (gettext("{width} at its left", width=width) if end.side == "left"
            else gettext("{width} at its right", width=width))


def _wide(end: LastRow, show: str) -> str:
    """How wide the last row will be: nothing is narrower than 0 mm."""
    low, high = max(end.low_mm, 0.0), max(end.high_mm, 0.0)
    return between_words((low + high) / 2, (high - low) / 2, show)


def between_words(mm: float, pm95_mm: float, show: str) -> str:
    """A length that may be that much more or less."""
    low, high = mm - pm95_mm, mm + pm95_mm
    if show == "imperial":
        return gettext("{least} to {most}", least=format_length(low, show=show), most=format_length(high, show=show))
    return gettext("{least:.0f} to {most:.0f} mm", least=float(low), most=float(high))


def length_words(mm: float, show: str) -> str:
    """A length."""
    return format_length(mm, show=show)
