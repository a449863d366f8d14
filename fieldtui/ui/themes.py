"""Three lights to read by. Every text colour has a contrast of at least 7:1 on its ground
(WCAG 2.1, success criterion 1.4.6)."""

from __future__ import annotations

from textual.theme import Theme


def _theme(
    name: str,
    *,
    dark: bool,
    ground: str,
    ink: str,
    raised: str,
    accent: str,
    good: str,
    bad: str,
    careful: str,
) -> Theme:
    return Theme(
        name=name,
        dark=dark,
        primary=accent,
        secondary=accent,
        accent=accent,
        background=ground,
        surface=ground,
        panel=raised,
        boost=raised,
        foreground=ink,
        success=good,
        error=bad,
        warning=careful,
        text_alpha=1.0,
        variables={
            "text-success": good,
            "text-error": bad,
            "text-warning": careful,
            "text-accent": accent,
            "text-primary": accent,
            "text-muted": ink,
            "text-disabled": ink,
            "foreground-muted": ink,
            "input-selection-background": raised,
            "input-cursor-background": ink,
            "input-cursor-foreground": ground,
            "block-cursor-background": accent,
            "block-cursor-foreground": ground,
            "block-cursor-blurred-background": raised,
            "block-cursor-blurred-foreground": ink,
            "block-hover-background": raised,
            "border": accent,
            "border-blurred": ink,
            "footer-key-foreground": accent,
            "footer-description-foreground": ink,
            "scrollbar": accent,
            "scrollbar-background": raised,
        },
    )


DAYLIGHT = _theme(
    "daylight",
    dark=False,
    ground="#ffffff",
    ink="#000000",
    raised="#e8eef4",
    accent="#0b3a75",
    good="#0b4d1c",
    bad="#8a0010",
    careful="#5a3500",
)
DIM = _theme(
    "dim",
    dark=True,
    ground="#181b1f",
    ink="#f2f2f2",
    raised="#242930",
    accent="#a8d0ff",
    good="#a2e8ae",
    bad="#ffc2ba",
    careful="#ffdd8a",
)
NIGHT = _theme(
    "night",
    dark=True,
    ground="#000000",
    ink="#ff9f45",
    raised="#1c0d00",
    accent="#ffb066",
    good="#ffb066",
    bad="#ffd0a3",
    careful="#ffd0a3",
)
LIGHTS = (DAYLIGHT, DIM, NIGHT)


def light_after(name: str) -> str:
    """The next of the three, round and round."""
    names = [theme.name for theme in LIGHTS]
    return names[(names.index(name) + 1) % len(names)] if name in names else names[0]
