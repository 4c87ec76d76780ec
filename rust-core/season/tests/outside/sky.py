"""Sun against ephem, heat index against MetPy, lines and areas against geographiclib.

Needs ephem, metpy, geographiclib, numpy.
"""

import datetime
import math
import random

import ephem
import numpy as np
from geographiclib.geodesic import Geodesic
from season_lines import Report, ask

EARTH = Geodesic.WGS84


def observer(lat, lon, when):
    place = ephem.Observer()
    place.lat, place.lon, place.pressure, place.horizon, place.date = str(lat), str(lon), 0, "-0:50", when
    return place


def seconds(one, other):
    return abs((one - other).total_seconds())


def moment(text):
    return datetime.datetime.fromisoformat(text.replace("Z", "")).replace(tzinfo=None)


def altitude(lat, lon, when):
    place = observer(lat, lon, when)
    return math.degrees(ephem.Sun(place).alt)


def days(chance, report):
    cases = []
    for case in range(600):
        lat = [chance.uniform(-60, 60), chance.uniform(-89.9, 89.9), chance.choice([-1, 1]) * chance.uniform(64, 72)][case % 3]
        date = datetime.date(2000, 1, 1) + datetime.timedelta(chance.randrange(12000))
        cases.append((lat, chance.uniform(-180, 180), date))
    answers = ask([("sun", dict(at=dict(lat=lat, lon=lon), date=str(date))) for lat, lon, date in cases])
    polar = grazing = 0
    for (lat, lon, date), answer in zip(cases, answers):
        sun = ephem.Sun()
        near_noon = datetime.datetime.combine(date, datetime.time(12)) - datetime.timedelta(hours=lon / 15)
        noon = observer(lat, lon, ephem.Date(near_noon - datetime.timedelta(hours=1))).next_transit(sun).datetime()
        report.add("noon, s, ephem", seconds(moment(answer["noon"]), noon), 0.0, 5)
        for name, find in (("rise", "previous_rising"), ("set", "next_setting")):
            try:
                theirs = getattr(observer(lat, lon, ephem.Date(noon)), find)(ephem.Sun(), use_center=True).datetime()
                theirs = theirs if seconds(theirs, noon) < 12.5 * 3600 else None
            except (ephem.AlwaysUpError, ephem.NeverUpError):
                theirs = None
            ours = answer[name]
            # Height at noon and at the lowest point: where either grazes the horizon both libraries may differ.
            low = noon + datetime.timedelta(hours=-12 if name == "rise" else 12)
            grazes = min(abs(altitude(lat, lon, noon) + 5 / 6), abs(altitude(lat, lon, low) + 5 / 6)) < 0.25
            if grazes:
                grazing += 1
                continue
            if isinstance(ours, dict) and theirs is not None:
                # What a hundredth of a degree of height is worth in seconds, where the sun rises steeply or flatly.
                before, after = (altitude(lat, lon, theirs + datetime.timedelta(seconds=s)) for s in (-30, 30))
                per_degree = 60 / max(abs(after - before), 1e-6)
                if abs(lat) <= 60:
                    report.add(f"{name} within 60° of the equator, s, ephem", seconds(moment(ours["at"]), theirs), 0.0, 10)
                report.add(f"{name} anywhere, degrees of height, ephem", seconds(moment(ours["at"]), theirs) / per_degree, 0.0, 0.02)
            else:
                polar += 1
                height = altitude(lat, lon, noon)
                report.same(f"{name}: polar day or night, ephem", (ours if isinstance(ours, str) else "rises", theirs is None),
                            ("stays-up" if height > -5 / 6 else "stays-down", True))
    print(f"sun: {polar} rises or sets do not take place, {grazing} graze the horizon within 0.25° and are not compared")


def stands(chance, report):
    cases = [(chance.uniform(-89, 89), chance.uniform(-180, 180),
              datetime.datetime(2000, 1, 1) + datetime.timedelta(seconds=chance.randrange(10**9))) for _ in range(300)]
    answers = ask([("sun", dict(at=dict(lat=lat, lon=lon), moment=when.isoformat() + "Z")) for lat, lon, when in cases])
    for (lat, lon, when), answer in zip(cases, answers):
        place = observer(lat, lon, when)
        sun = ephem.Sun(place)
        report.add("sun's height, degrees, ephem", answer["altitude"], math.degrees(sun.alt), 0.02)
        turn = (answer["azimuth"] - math.degrees(sun.az) + 180) % 360 - 180
        report.add("sun's direction × cos height, degrees, ephem", turn * math.cos(sun.alt), 0.0, 0.02)


def heat(chance, report):
    from metpy.calc import heat_index
    from metpy.units import units

    cases = [(chance.uniform(60, 115), chance.uniform(0, 100)) for _ in range(2000)]
    cases += [(t, r) for t in (80, 87, 95, 112, 110) for r in (0, 12.999, 13, 85, 85.001, 100)]
    answers = ask([("heat", dict(celsius=(t - 32) / 1.8, humidity=r)) for t, r in cases])
    theirs = heat_index(np.array([t for t, _ in cases]) * units.degF, np.array([r for _, r in cases]) * units.percent,
                        mask_undefined=False).to("degF").magnitude
    simple_branch = between = 0
    for (t, r), answer, value in zip(cases, answers, theirs):
        simple = 0.5 * (t + 61 + 1.2 * (t - 68) + 0.094 * r)
        if answer["range"] == "simple":
            report.add("heat index, simple branch, °F, the service's text", answer["fahrenheit"], (simple + t) / 2, 1e-9)
            simple_branch += 1
        elif simple < 79:
            between += 1
        else:
            report.add("heat index, regression, °F, MetPy", answer["fahrenheit"], float(value), 1e-6)
    print(f"heat index: {simple_branch} of {len(cases)} on the simple branch, which MetPy does not average with the "
          f"temperature; {between} where MetPy, which changes over by the simple value, still takes it: not compared")


def ground(chance, report):
    pairs = []
    for case in range(600):
        a = (chance.uniform(-90, 90), chance.uniform(-180, 180))
        if case % 3 == 0:  # field length
            b = (max(-90, min(90, a[0] + chance.uniform(-0.01, 0.01))), max(-180, min(180, a[1] + chance.uniform(-0.01, 0.01))))
        elif case % 3 == 1:
            b = (chance.uniform(-90, 90), chance.uniform(-180, 180))
        else:  # nearly opposite
            b = (max(-90, min(90, -a[0] + chance.uniform(-0.5, 0.5))), (a[1] + 360) % 360 - 180)
            b = (b[0], max(-180, min(180, b[1] + chance.uniform(-0.5, 0.5))))
        pairs.append((a, b))
    pin = lambda p: dict(lat=p[0], lon=p[1])
    answers = ask([("ground", {"from": pin(a), "to": pin(b)}) for a, b in pairs])
    for (a, b), answer in zip(pairs, answers):
        line = EARTH.Inverse(*a, *b)
        report.add("line, m, geographiclib", answer["metres"], line["s12"], 1e-7)
        turn = lambda ours, theirs: (ours - theirs + 180) % 360 - 180
        report.add("line, directions, degrees, geographiclib", turn(answer["leaves"], line["azi1"]), 0.0, 1e-6)
        report.add("line, directions, degrees, geographiclib", turn(answer["arrives"], line["azi2"]), 0.0, 1e-6)
    starts = [((chance.uniform(-89.9, 89.9), chance.uniform(-180, 180)), chance.uniform(-360, 720), chance.choice([1e2, 1e5, 1.9e7]) * chance.random())
              for _ in range(300)]
    answers = ask([("ground", {"from": pin(a), "leaves": azi, "metres": s}) for a, azi, s in starts])
    for (a, azi, s), answer in zip(starts, answers):
        end = EARTH.Direct(*a, azi, s)
        off = EARTH.Inverse(end["lat2"], end["lon2"], answer["lat"], answer["lon"])["s12"]
        report.add("walk along a line, m from geographiclib's end", off, 0.0, 1e-6)
    rings = []
    for case in range(300):
        lat, lon, far = chance.uniform(-89, 89), chance.uniform(-180, 180), chance.choice([50, 5000, 5e5])
        corners = chance.randint(3, 12)
        ring = []
        for index in range(corners):
            end = EARTH.Direct(lat, lon, -360 * index / corners, far * chance.uniform(0.3, 1))
            ring.append((end["lat2"], end["lon2"]))
        rings.append(ring if case % 2 else ring[::-1])
    for ring, answer in zip(rings, ask([("ground", {"ring": [pin(c) for c in ring]}) for ring in rings])):
        polygon = EARTH.Polygon()
        for corner in ring:
            polygon.AddPoint(*corner)
        _, around, area = polygon.Compute(False, True)
        report.add("ring, m, geographiclib", answer["metres"], around, 1e-6)
        report.add("ring, m², relative, geographiclib", answer["square_metres"], area, 1e-6, True)


if __name__ == "__main__":
    report = Report()
    chance = random.Random(20260604)
    days(chance, report)
    stands(chance, report)
    heat(chance, report)
    ground(chance, report)
    report.close()
