"""The two themes: a light one like the bench, a dark one like the stockroom after hours."""

from __future__ import annotations

from typing import Final

from textual.theme import Theme

LIGHT: Final = Theme(
    name="bench",
    dark=False,
    primary="#2f4a3c",
    secondary="#5b4a2f",
    accent="#1f5f8b",
    warning="#8a5a00",
    error="#9c1c1c",
    success="#1f6b3a",
    foreground="#1c1c1a",
    background="#f6f3ea",
    surface="#ece7d9",
    panel="#ded7c3",
    variables={
        "input-cursor-background": "#1c1c1a",
        "input-cursor-foreground": "#f6f3ea",
        "input-selection-background": "#b8cfdd",
        "scrollbar": "#b3aa92",
        "scrollbar-background": "#ece7d9",
        "highlight-ground": "#2f4a3c",
        "highlight-ink": "#ffffff",
        "quiet-ink": "#5d594e",
    },
)

DARK: Final = Theme(
    name="night",
    dark=True,
    primary="#8fb8a2",
    secondary="#c8ad7f",
    accent="#86b7dd",
    warning="#e6b455",
    error="#ff8f80",
    success="#8fd0a0",
    foreground="#e6e3da",
    background="#161a18",
    surface="#1f2522",
    panel="#2a322e",
    variables={
        "input-cursor-background": "#e6e3da",
        "input-cursor-foreground": "#161a18",
        "input-selection-background": "#3f5a6d",
        "scrollbar": "#4b5650",
        "scrollbar-background": "#1f2522",
        "highlight-ground": "#cfe3d6",
        "highlight-ink": "#10140f",
        "quiet-ink": "#a09d94",
    },
)
