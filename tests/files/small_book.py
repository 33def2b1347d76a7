"""A small kit book in TOML, whole and without faults, of which tests spoil one place each."""

from __future__ import annotations

BOOK = """\
format = 1
[book]
code = "plover"
title = "Ravensworth Plover"
version = "2026.1"
[works]
ashgate = "Ashgate"
fenmoor = "Fenmoor"
[series.s1]
title = "Series 1"
chassis = { first = 1001, last = 3999 }
built = { first = "1951-03-01", last = 1954-08-31 }
works = ["ashgate"]
[series.s2]
title = "Series 2"
chassis = { first = 4001 }
built = { first = "1954-09-01" }
works = ["ashgate", "fenmoor"]
[options.bag-length]
ask = "Long or short?"
[options.bag-length.choices]
long = "long"
short = "short"
[options.window]
ask = "Sewn in or with a zip?"
choices = { sewn = "sewn in", zipped = "with a zip" }
default = "sewn"
because = "Every hood left the works so."
[roles.carpet]
colour = { rule = "carpet-colour" }
because = "Carpet and its binding go together."
[roles.strap]
colour = "black"
because = "Straps are black."
[rule-titles]
carpet-colour = "Colour of the carpet"
[[rules.carpet-colour]]
when = { series = "s1", chassis = { last = 2749 } }
then = "@trim"
because = "Early cars took the trim colour."
[[rules.carpet-colour]]
when = {}
then = "black"
because = "Later cars were black."
[[rules.zip]]
when = { option.window = "zipped" }
then = true
because = "The order asks for it."
[[rules.zip]]
when = { option.window = ["sewn"] }
then = false
because = "Sewn in."
[[rules.clips]]
when = { series = ["s1", "s2"], works = "ashgate", hand = "left", built = { first = "1951-03-01" } }
then = 6
because = "As counted on cars."
[[rules.clips]]
when = {}
then = 4
because = "As counted on cars."
[[rules.pipe-hole]]
when = { body = "red" }
then = "cut"
because = "x"
[[rules.pipe-hole]]
when = {}
then = "marked"
because = "x"
[[rules.bag-blank]]
when = { option = { bag-length = "long" } }
then = "bag-blank-long"
because = "The order asks for it."
[[rules.bag-blank]]
when = { option.bag-length = "short" }
then = "bag-blank-short"
because = "The order asks for it."
[outlines.floor]
points = [[0, 0], [800, 0], [800, 500], [0, 500]]
edges = { front = [0, 1], side = [1, 3], round = [0, 0] }
notches = [[400, 0]]
[pieces.BF]
title = "Boot floor"
pattern = "outline"
group = "boot"
note = "Two lines:\\nfine."
[[pieces.BF.panels]]
code = "top"
cloth = "carpet"
role = "carpet"
outline = "floor"
overlong = { front = "2 cm" }
[[pieces.BF.panels.holes]]
name = "filler pipe"
at = [200, 250]
diameter = 60
made = { rule = "pipe-hole" }
[[pieces.BF.panels.edging]]
how = "bound"
edges = ["front", "side"]
goods = "edge-binding"
role = "carpet"
corner = 15
end = 20
join = 40
[[pieces.BF.hardware]]
item = "clip"
count = { rule = "clips" }
ends = "bench"
half = "cap"
[[pieces.BF.strips]]
goods = "webbing"
role = "strap"
length = "1.2 m"
count = 2
[pieces.HD]
title = "Hood"
pattern = "length"
[[pieces.HD.panels]]
code = "top"
cloth = "hood-cloth"
role = "hood"
set_length = { length = 1700, edges = { rear = 1200 } }
overlong = { length = 30 }
[[pieces.HD.panels]]
code = "zip-flap"
cloth = "hood-cloth"
role = "hood"
card = { width = 60, length = 900, edges = { front = 900 } }
overlong = { width = 5 }
present = { rule = "zip" }
[pieces.BAG]
title = "Handles bag"
pattern = "outline"
made = { rule = "bag-blank" }
[kits.boot-set]
title = "Boot set"
pieces = ["BF"]
[[kits.boot-set.hardware]]
item = "clip"
count = 2
ends = "loose"
[[kits.boot-set.spares]]
item = "clip"
count = 1
because = "One always rolls away."
[[kits.boot-set.steps]]
at = 10
do = "Lay the floor."
pieces = ["BF"]
[kits.hood]
title = "Hood"
pieces = ["HD"]
options = ["window"]
measurements = ["How long is the frame?"]
when = { series = ["s1", "s2"] }
[kits.bag]
title = "Handles bag"
pieces = ["BAG"]
options = ["bag-length"]
[kits.everything]
title = "Everything"
kits = ["boot-set", "hood", "bag"]
[[pairings]]
trim = "red"
goes_with = { hood = ["black"], piping = ["black", "red"] }
because = "Usual."
"""


def spoiled(*changes: tuple[str, str]) -> str:
    """The book with each first text put in place of by the second; every first text must stand there once."""
    text = BOOK
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands in the book {text.count(old)} times"
        text = text.replace(old, new)
    return text


def line_of(text: str, words: str) -> int:
    """The line on which `words` stand, from 1."""
    assert text.count(words) == 1, f"{words!r} stands there {text.count(words)} times"
    return text[: text.index(words)].count("\n") + 1
