"""Print the key page of the README from the action table.

python demo/keys.py
"""

from __future__ import annotations

from fieldtui.ui.actions import ACTIONS, key_name

_SCREENS = {
    "walk": "Walk",
    "drift": "Drift of numbers",
    "drift_points": "Drift of points",
    "reconcile": "Reconcile",
    "close_out": "Close-out",
    "start": "Start",
    "brief": "Brief",
    "review": "Review",
    "point_story": "A point",
}


def format_key_page() -> str:
    """The keys of every screen as one Markdown table."""
    lines = ["| screen | keys | what it does |", "|---|---|---|"]
    for action in ACTIONS:
        keys = " or ".join(f"`{key_name(key)}`" for key in action.keys)
        lines.append(f"| {_SCREENS[action.screen]} | {keys} | {action.help} |")
    return "\n".join(lines)


if __name__ == "__main__":
    print(format_key_page())  # noqa: T201  what this script is for
