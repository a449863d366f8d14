"""One table of actions: key bindings, footer, help, menu, command palette and the README's key
page all come from it.

On the walk the entry line has the focus and a value may begin with a digit, a point, or one of the
letters R L K M (IEC 60062). A plain key is an action only while the entry line is empty, so no
action lies on those letters. The four keys of the numeric keypad beside the digits reach
everything: ``/`` opens the menu of all actions, each under a number.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

ScreenName = Literal[
    "start", "brief", "walk", "drift", "drift_points", "reconcile", "close_out", "review", "point_story"
]


@dataclass(frozen=True, slots=True)
class Action:
    """Something the recorder or reviewer can do. ``keys`` are names as the toolkit spells them."""

    screen: ScreenName
    name: str  # the screen's method is action_<name>, on the walk do_<name>; asking screens have none
    keys: tuple[str, ...]
    label: str  # one or two words, for the footer
    help: str  # one sentence
    in_footer: bool = True


ACTIONS: tuple[Action, ...] = (
    Action("walk", "skip", ("s", "minus"), "skip", "Leave this point for later, with a reason."),
    Action(
        "walk", "redo", ("t", "plus"), "take again", "Take the last reading's point again, then come back."
    ),
    Action(
        "walk",
        "rework",
        ("z",),
        "reworked",
        "A failed bond was repaired or cleaned: its retest is next, by the retest limit.",
        in_footer=False,
    ),
    Action("walk", "void", ("v",), "void", "Strike a reading out, with a reason; it stays visible."),
    Action(
        "walk",
        "attempt",
        ("x",),
        "no value",
        "A try that gave no value: unstable, open, over range, not accessible.",
    ),
    Action(
        "walk",
        "check",
        ("c", "asterisk"),
        "check number",
        "Key the meter's last memory number as the prober reads it out.",
    ),
    Action(
        "walk",
        "standard",
        ("g",),
        "check standard",
        "Read the check standard: is the meter still good?",
        in_footer=False,
    ),
    Action(
        "walk",
        "lead",
        ("e",),
        "lead changed",
        "Another lead or other tips: the check standard is due.",
        in_footer=False,
    ),
    Action("walk", "insert", ("i",), "insert", "Insert an unplanned point here and take it now."),
    Action("walk", "jump", ("j",), "jump", "Go to another point, then come back to this one."),
    Action(
        "walk",
        "reverse",
        ("b",),
        "far end first",
        "Walk the rest of this section from its far end.",
        in_footer=False,
    ),
    Action("walk", "note", ("n",), "note", "Write a remark on this point."),
    Action("walk", "pause", ("p",), "pause", "Stop for a while; the time is kept in the trail."),
    Action("walk", "amend", ("w",), "correct", "Correct a wrongly keyed value; the first one stays visible."),
    Action(
        "walk",
        "move",
        ("equals_sign",),
        "move readings",
        "Readings stand at other points than they were taken at: move a row of them along the walk, or back.",
        in_footer=False,
    ),
    Action(
        "walk",
        "fresh_run",
        ("f",),
        "fresh memory",
        "Memory full, cleared, or another meter: read out, reconcile, start the next memory run.",
        in_footer=False,
    ),
    Action(
        "walk",
        "reconcile",
        ("h",),
        "reconcile",
        "Hold the record against the meter's memory list, from a file or keyed blind.",
        in_footer=False,
    ),
    Action(
        "walk",
        "points",
        ("o",),
        "open points",
        "List the points still open, skipped or failed; Enter goes there.",
    ),
    Action("walk", "done", ("d",), "close", "Close-out: what is left to settle, signatures, and the close."),
    Action("walk", "leave", ("q",), "leave", "Leave the walk; it can be resumed at this point."),
    Action("walk", "menu", ("slash",), "menu", "Every action by number (numeric keypad); / again: more."),
    Action("walk", "help", ("f1", "question_mark"), "help", "What every key does."),
    Action(
        "walk",
        "hand_over",
        ("a",),
        "handover",
        "Somebody else records or probes from here on.",
        in_footer=False,
    ),
    Action(
        "walk",
        "other_meter",
        ("y",),
        "other meter",
        "Another meter takes over: its own memory run, accuracy and check standard.",
        in_footer=False,
    ),
    Action("walk", "light", ("f2",), "light", "Change between daylight, dim and night.", in_footer=False),
    Action(
        "start",
        "open",
        ("enter",),
        "open",
        "Walk the route, resume the open session, or review the closed one.",
    ),
    Action("start", "review", ("v",), "review", "Open the chosen session read-only."),
    Action(
        "start",
        "reopen",
        ("o",),
        "reopen",
        "Open the chosen closed session again, with a reason; its seal goes.",
    ),
    Action("start", "theme", ("f2",), "light", "Change between daylight, dim and night."),
    Action("start", "leave", ("q", "escape"), "quit", "Leave the program."),
    Action("start", "help", ("f1", "question_mark"), "help", "What every key does."),
    Action("brief", "read", ("f3",), "cautions read", "Say that the crew has read the cautions."),
    Action(
        "brief",
        "next_line",
        ("enter",),
        "next line",
        "Go to the next line; on the last one, BEGIN THE WALK, it begins.",
    ),
    Action(
        "brief",
        "choose",
        ("1", "2", "left", "right"),
        "choose",
        "Choose by the number beside an answer, or step through them. A number alone is a reason, too.",
        in_footer=False,
    ),
    Action("brief", "move", ("up", "down"), "other line", "Go a line up or down.", in_footer=False),
    Action("brief", "begin", ("f5", "ctrl+s"), "begin walk", "Begin the walk once nothing blocks it."),
    Action(
        "brief",
        "leave",
        ("escape", "q"),
        "back",
        "Go back without a session; asked first where something was keyed.",
    ),
    Action("brief", "help", ("f1",), "help", "What every key does."),
    Action(
        "drift",
        "choose",
        ("up", "down", "asterisk", "plus", "1", "2", "3", "4", "5"),
        "mark",
        "Mark what happened; a digit marks, too.",
    ),
    Action("drift", "take", ("enter",), "go on", "Take what is marked; place and reason come next."),
    Action("drift", "leave", ("escape", "minus"), "back", "Leave it open; a warning stays."),
    Action("drift", "help", ("f1", "slash"), "help", "What every key does."),
    Action(
        "drift_points",
        "move",
        ("up", "down", "asterisk", "plus"),
        "move",
        "Mark what happened; no digit does. Later: begin one record earlier or later.",
    ),
    Action("drift_points", "last", ("4", "6"), "last record", "End one record earlier or later.", False),
    Action("drift_points", "by", ("left", "right", "7", "9"), "how far", "One point less or one more."),
    Action(
        "drift_points",
        "take",
        ("enter",),
        "go on",
        "Take what is shown; where readings move, the reason is asked for next.",
    ),
    Action("drift_points", "leave", ("escape", "minus"), "back", "A step back; in the end nothing changes."),
    Action("drift_points", "help", ("f1", "slash"), "help", "What every key does."),
    Action(
        "reconcile",
        "certain",
        ("1",),
        "take over what is certain",
        "Take over all that is certain, with a reason; the run then counts as reconciled.",
    ),
    Action("reconcile", "single", ("2", "enter"), "this one", "Decide on the marked line alone."),
    Action("reconcile", "narrow", ("3",), "all or not", "Show all lines, or only what is not the same."),
    Action(
        "reconcile",
        "mark",
        ("up", "down", "asterisk", "plus"),
        "mark",
        "Mark another line; page keys, home and end, too.",
        False,
    ),
    Action("reconcile", "leave", ("escape", "minus"), "back", "Back to the walk; what was taken over stays."),
    Action("reconcile", "help", ("f1", "slash"), "help", "What every key does."),
    Action(
        "close_out",
        "settle",
        ("1", "2", "3", "enter"),
        "as it says",
        "Do to the marked line what stands beside the digit; Enter does the first.",
    ),
    Action(
        "close_out",
        "mark",
        ("up", "down", "asterisk", "plus"),
        "mark",
        "Mark another line; page keys, home and end, too.",
    ),
    Action(
        "close_out", "close", ("9",), "close", "Close; what is left undone wants a reason. The seal comes up."
    ),
    Action("close_out", "leave", ("escape", "minus"), "back", "Back to the walk; what was settled stays."),
    Action("close_out", "help", ("f1", "slash"), "help", "What every key does."),
    Action(
        "review", "exceptions", ("1", "e"), "exceptions", "What is not as planned, first things first.", False
    ),
    Action("review", "readings", ("2", "r"), "readings", "Every reading, void ones included.", False),
    Action("review", "points", ("3", "p"), "points", "Every point with as-found and as-left.", False),
    Action("review", "trail", ("4", "t"), "trail", "Every row of the trail in order.", False),
    Action("review", "facts", ("5", "f"), "facts", "Crew, meter, brief, counts and seal.", False),
    Action("review", "remarks", ("6", "m"), "remarks", "What reviewers remarked; Enter goes there.", False),
    Action("review", "remark", ("n", "plus"), "remark", "Write a remark on what is marked."),
    Action("review", "withdraw", ("w", "minus"), "withdraw", "Withdraw the marked remark; it stays.", False),
    Action(
        "review",
        "charts",
        ("7", "c"),
        "charts",
        "Along the route, margins, left against right, history; again: the next one.",
        False,
    ),
    Action("review", "sections", ("8", "s"), "sections", "How far each section is done; paths; pace.", False),
    Action("review", "checks", ("9", "k"), "checks", "Checks of numbers and meter, gaps, hurry.", False),
    Action("review", "story", ("enter",), "point", "The whole story of the marked point on one page."),
    Action(
        "review",
        "sort",
        ("o", "asterisk"),
        "sort",
        "Sort by the next order: route, value, margin to the limit, time, verdict.",
    ),
    Action("review", "turn", ("b", "full_stop"), "turn", "Turn the order round."),
    Action("review", "which", ("x", "0"), "rows", "Show the next choice of rows: failed, struck out, ..."),
    Action("review", "find", ("slash",), "find", "Show only rows with these words."),
    Action("review", "leave", ("q", "escape"), "leave", "Close the review; nothing was changed."),
    Action("review", "help", ("f1", "question_mark"), "help", "What every key does."),
    Action("point_story", "next_point", ("n", "right", "plus"), "next point", "The point after this one."),
    Action(
        "point_story", "previous_point", ("p", "left", "minus"), "point before", "The point before this one."
    ),
    Action("point_story", "leave", ("escape", "q"), "back", "Back to the review; this point stays marked."),
    Action("point_story", "help", ("f1", "question_mark"), "help", "What every key does."),
)


def actions_of(screen: ScreenName) -> tuple[Action, ...]:
    """The actions of one screen, in the order they are shown."""
    return tuple(action for action in ACTIONS if action.screen == screen)


KEY_NAMES = {
    "minus": "-",
    "plus": "+",
    "asterisk": "*",
    "slash": "/",
    "question_mark": "?",
    "equals_sign": "=",
    "escape": "Esc",
    "enter": "Enter",
    "up": "↑",
    "down": "↓",
    "left": "←",
    "right": "→",
    "ctrl+s": "Ctrl+S",
    "full_stop": ".",
}


def key_name(key: str) -> str:
    """A key as it is printed: ``-``, ``F1``, ``Esc``, ``s``."""
    return KEY_NAMES.get(key, key.upper() if len(key) > 1 else key)
