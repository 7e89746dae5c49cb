"""Values of an invented head in which nothing is wrong, for the shipped whole plan."""

GOOD = {
    "head.clean": "1",
    "head.cracks": "1",
    "head.flatness": "0.02",
    "head.height": "119.95",
    "guide.diameter": "7.012",
    "guide.protrusion": "12.02",
    "valve.look": "1",
    "valve.stem_diameter": {"I": "6.971", "E": "6.952"},
    "valve.stem_runout": "0.008",
    "valve.face_runout": "0.012",
    "valve.margin": "1.30",
    "valve.length": "104.45",
    "valve.free_movement": "1",
    "valve.rebound": "1",
    "seat.runout": "0.015",
    "seat.width": "1.60",
    "valve.recess": "0.90",
    "spring.free_length": "46.80",
    "spring.squareness": "0.60",
    "spring.load": {"38.0": "258", "29.0": "515"},
    "spring.bow": "0.30",
    "spring.fitted_height": "38.10",
    "spring.coil_gap": "2.00",
    "seat.leak": "0.050",
    "spring.washer": "1",
    "seal.fitted": "1",
    "stem.oiled": "1",
    "cotter.new": "1",
    "cotter.seated": "1",
}


def good_value(name, position, place):
    value = GOOD[name]
    if not isinstance(value, dict):
        return value
    return value[str(place.length_mm) if name == "spring.load" else position.rstrip("abc")[-1]]


def healthy(plan, changed=None):
    """(characteristic, position, place, value) for everything the plan asks for.

    changed: (characteristic, position) to another value, at every place of it.
    """
    changed = changed or {}
    return [
        (t.characteristic, t.position, t.place, changed.get((t.characteristic, t.position)))
        if (t.characteristic, t.position) in changed
        else (t.characteristic, t.position, t.place, good_value(*t))
        for t in plan.targets
    ]
