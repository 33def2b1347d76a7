"""A shop's own files, a row or two of every table: small enough to be loaded a hundred times in a test."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from tests.shops import BOOK

TABLES: Mapping[str, str] = {
    "colours.csv": "code,name,L,a,b,illuminant,observer\nred,Red,40,50,30,D65,10\nblack,Black,20,0,0,D65,10\n",
    "cloths.csv": "code,title,kind,fibre,grain,width,mass_g_m2,nap,shortest_useful,colour_tolerance,hazards,"
    "substitutes,discontinued\n"
    "carpet,Boot carpet,cloth,wool,rib,54 in,900,yes,300,1.0,,felt,no\n"
    "felt,Felt,cloth,wool,,1400,400,no,300,1.0,,,no\n",
    "items.csv": "code,title,kind,cloth,colour,mass_g,group,least,most,hazards,storage,made_here\n"
    "carpet/red,,cloth,carpet,red,,,10 m,40 m,,,no\nstud,Stud,hardware,,,4,,100,400,,,no\n",
    "places.csv": "code,title,walk\nR1,Rack,1\nB1,Bins,2\n",
    "stages.csv": "code,title,turn\nsewing,Sewing,10\n",
    "suppliers.csv": "code,name,lead_days,currency,carriage_paid\nmill,Hill Mill,14,GBP,250.00\n",
    "terms.csv": "supplier,item,lead_days,least_quantity,multiple,price,breaks,preferred\n"
    "mill,stud,7,100,50,0.15,500:0.12; 1000:0.10,yes\n",
    "rolls.csv": "label,item,lot,length,width,place,measured,remnant,value,flaws,L,a,b,illuminant,observer,quarantined,"
    "received\n"
    "r1,carpet/red,K1,25 m,54 in,R1,yes,no,300.00,1200-1260 slub,40,50,30,D65,10,,opening-21d\n",
    "bins.csv": "item,lot,place,count,value\nstud,,B1,400,40.00\n",
    "purchases.csv": "reference,supplier,item,quantity,received,ordered,due,price\n"
    "P-1,mill,stud,500,0,opening-7d,opening+7d,0.12\n",
    "history.csv": "day,item,kind,quantity,lot,note\nopening-30d,stud,issued,40,,\n",
}
"""File name → text. Every cell of the one row that matters is told."""
SHOP = 'format = 1\nname = "Lindow Trim"\ntime_zone = "Europe/London"\ncurrency = "GBP"\nopening = "2026-11-23"\n'
ORDER = """\
format = 1
number = "L-7"
customer = "Ann Example"
wanted = "opening+21d"
fitted_here = false
book = "plover"
note = "Ring first."
[cars.mine]
chassis = "RP 1500"
series = "s1"
works = "ashgate"
built = "1952-06"
hand = "right"
body = "green"
trim = "red"
hood = "fawn"
[[lines]]
kit = "boot-set"
quantity = 1
car = "mine"
pieces = ["BF"]
swatches = ["carpet in red"]
[lines.choices]
bag-length = "long"
[lines.measurements]
"How high is the door top?" = "812"
[[lines.changes]]
what = "hole"
piece = "BF"
panel = "top"
part = "filler"
made = "solid"
because = "the filler was moved"
by = "AB"
proved = true
[lines.overruled.carpet-colour]
then = "black"
because = "the rest of the car is black"
by = "AB"
"""


def write_files(folder: Path, files: Mapping[str, str | bytes]) -> Path:
    """Writes shop.toml, every table and `files`, which come last, into a folder that is made here."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in {"shop.toml": SHOP, **TABLES, **files}.items():
        (folder / name).write_bytes(content if isinstance(content, bytes) else content.encode())
    return folder


__all__ = ["BOOK", "ORDER", "SHOP", "TABLES", "write_files"]
