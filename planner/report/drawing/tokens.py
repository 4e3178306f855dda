"""The looks of page and pictures in one place: tones, type, spacing, as CSS.

Each tone has a duty and a value for light, dark and paper. The faces of a wall
keep a light tone in the dark too: they are what is lit, and what is written on them
is always `on-face`. `READ` lists which tones are read upon which, `SEEN` which lines
must be seen upon what; a test holds them to WCAG 2.2 (success criteria 1.4.3 and
1.4.11).
"""

FACES = 11  # as found .. in service, see `board_states`

LIGHT = {
    "paper": "#f7f4ec",
    "card": "#fffdf8",
    "ink": "#211d17",
    "soft": "#575044",
    "rule": "#857c6b",
    "hair": "#d8d0bf",
    "shade": "#e6dfce",
    "wet": "#1d5a70",
    "wet-wash": "#cfe1e4",
    "link": "#144b5e",
    "on-face": "#1b1813",
    "grain": "#6d6351",
    "face-0": "#b3a78f",
    "face-1": "#a39680",
    "face-2": "#d3b78a",
    "face-3": "#c3c9c0",
    "face-4": "#b4bfb9",
    "face-5": "#d8d2b8",
    "face-6": "#dcd8cb",
    "face-7": "#e7e4d8",
    "face-8": "#f1eee4",
    "face-9": "#fbfaf5",
    "face-10": "#ffffff",
}

DARK = {
    "paper": "#15171a",
    "card": "#1e2125",
    "ink": "#efece4",
    "soft": "#b8b4a9",
    "rule": "#87837a",
    "hair": "#3b3e42",
    "shade": "#292c31",
    "wet": "#7fc4d8",
    "wet-wash": "#1f3f4a",
    "link": "#9ad3e3",
    "on-face": "#14120e",
    "grain": "#554c3d",
    "face-0": "#93896f",
    "face-1": "#8d8370",
    "face-2": "#b39a72",
    "face-3": "#a6aca4",
    "face-4": "#98a29d",
    "face-5": "#bab59d",
    "face-6": "#bebbb0",
    "face-7": "#cac7bd",
    "face-8": "#d5d2c9",
    "face-9": "#e2e0da",
    "face-10": "#f2f0ea",
}

PAPER = {
    "paper": "#ffffff",
    "card": "#ffffff",
    "ink": "#000000",
    "soft": "#333333",
    "rule": "#666666",
    "hair": "#bbbbbb",
    "shade": "#e8e8e8",
    "wet": "#000000",
    "wet-wash": "#e2e2e2",
    "link": "#000000",
    "on-face": "#000000",
    "grain": "#555555",
    "face-0": "#b4b4b4",
    "face-1": "#a6a6a6",
    "face-2": "#c4c4c4",
    "face-3": "#cfcfcf",
    "face-4": "#c4c4c4",
    "face-5": "#d9d9d9",
    "face-6": "#dedede",
    "face-7": "#e8e8e8",
    "face-8": "#f2f2f2",
    "face-9": "#fcfcfc",
    "face-10": "#ffffff",
}

# Where the reader's own few colours are forced upon all: they draw, patterns tell apart.
# The faces stay as they are by day, and what is written on them too.
FORCED = {
    **dict.fromkeys(("paper", "card", "wet-wash", "shade"), "Canvas"),
    **dict.fromkeys(("ink", "soft", "rule", "hair", "wet"), "CanvasText"),
    "link": "LinkText",
}

THEMES = {"light": LIGHT, "dark": DARK, "paper": PAPER}

_GROUNDS = ("paper", "card", "shade")
READ = (
    *(("ink", g) for g in _GROUNDS),
    *(("soft", g) for g in _GROUNDS),
    *(("link", g) for g in _GROUNDS),
    *(("wet", g) for g in ("paper", "card", "wet-wash")),
    *(("on-face", f"face-{n}") for n in range(FACES)),
)
SEEN = (
    ("rule", "paper"),
    ("rule", "card"),
    ("wet", "paper"),
    ("wet", "card"),
)

TYPE = {
    "display": 'Georgia, "Iowan Old Style", "DejaVu Serif", "Liberation Serif", serif',
    "text": '"Segoe UI", Roboto, "Helvetica Neue", "Liberation Sans", "DejaVu Sans", '
    "sans-serif",
}
SPACE_REM = {"1": 0.25, "2": 0.5, "3": 1.0, "4": 1.75, "5": 3.0}


def _block(values: dict[str, str]) -> str:
    return ":root{" + "".join(f"--{k}:{v};" for k, v in values.items()) + "}"


def css() -> str:
    """Return the tokens as CSS custom properties, light, dark and for paper."""
    fixed = {
        **{f"type-{k}": v for k, v in TYPE.items()},
        **{f"space-{k}": f"{v}rem" for k, v in SPACE_REM.items()},
    }
    return "\n".join(
        (
            ":root{color-scheme:light dark}",
            _block({**fixed, **LIGHT}),
            "@media (prefers-color-scheme:dark){" + _block(DARK) + "}",
            "@media (forced-colors:active){" + _block(FORCED) + "}",
            "@media print{:root{color-scheme:light}" + _block(PAPER) + "}",
        )
    )
