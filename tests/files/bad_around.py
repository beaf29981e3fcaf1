"""Broken benches, third part: what acts on a hold from around it, and walls that begin warm."""

from tests.files.broken import Broken as B

HAND = '[touch.hand]\nat = "port"\nafter = "20 s"\n'
FILM = '[outgassing.film]\nat = "port"\nrate = "1e-9 mol/s"\n'
PROBE = '[thermometer]\nat = "port"\n'
WALL = 'wall = { material = "steel", shape = "cylinder", bore = "20 mm", thickness = "3 mm" }'

BAD_AROUND = [
    B("", '[touch.hand]\nafter = "20 s"\n', "touch.hand.at", "missing"),
    B("", HAND.replace('"port"', '"prt"'), "touch.hand.at", 'there is no volume "prt"'),
    B("", HAND.replace('"port"', '"room"'), "touch.hand.at", 'there is no volume "room"'),
    B("", HAND.replace('"port"', '"run.1"'), "touch.hand.at", 'there is no volume "run.1"'),
    B("", '[touch.hand]\nat = "port"\n', "touch.hand.after", "missing"),
    B("", HAND.replace("20 s", "-1 s"), "touch.hand.after", '"-1 s" is outside 0 s..100000 s'),
    B("", f'{HAND}lasts = "0 s"\n', "touch.hand.lasts", '"0 s" is outside 0.1 s..3600 s'),
    B("", f'{HAND}power = "5"\n', "touch.hand.power", "has no unit"),
    B("", f'{HAND}power = "5 kW"\n', "touch.hand.power", "is outside -1000 W..1000 W"),
    B("", f'{HAND}power = "5 K"\n', "touch.hand.power", "is in units of temperature"),
    B("", f'{HAND}heat = "5 W"\n', "touch.hand.heat", "unknown key"),
    B("", '[touch]\nat = "port"\nafter = "20 s"\n', "touch", ""),
    B("", '[outgassing.film]\nat = "port"\n', "outgassing.film.rate", "missing"),
    B("", FILM.replace('"port"', '"supply"'), "outgassing.film.at", 'there is no volume "supply"'),
    B("", FILM.replace("1e-9 mol/s", "1e-9 kg/s"), "outgassing.film.rate", "is in units of mass flow"),
    B("", FILM.replace("1e-9", "-1e-9"), "outgassing.film.rate", "is outside 0 mol/s..1e-3 mol/s"),
    B("", f'{FILM}age = "0 s"\n', "outgassing.film.age", '"0 s" is outside 1 s..10000000 s'),
    B("", f'[volume.outgassing]\ncapacity = "1 cm3"\n{FILM}', "volume.outgassing", "give off gas have this name"),
    B("", '[thermometer]\nlag = "1 s"\n', "thermometer.at", "missing"),
    B("", PROBE.replace('"port"', '"wall"'), "thermometer.at", 'there is no volume "wall"'),
    B("", f'{PROBE}accuracy = "0.3 K +- 10 %"\n', "thermometer.accuracy", "spread"),
    B("", f'{PROBE}noise = "-1 K"\n', "thermometer.noise", "is outside 0 K..10 K"),
    B("", f'{PROBE}lag = "2 h"\n', "thermometer.lag", "is outside 0 s..3600 s"),
    B(WALL, WALL.replace(" }", ', warmer = "60 K" }'), "volume.manifold.wall.warmer", "is outside -50 K..50 K"),
    B(WALL, WALL.replace(" }", ', warmr = "2 K" }'), "volume.manifold.wall.warmr", 'did you mean "warmer"?'),
]
