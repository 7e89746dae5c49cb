"""What is looked at when the valve goes in for good; the order is the order of doing."""

from daq.head.catalogue.about import Characteristic


def _look(name: str, where: str, source: str) -> Characteristic:
    return Characteristic(
        name=name,
        part="assembly",
        stage="assembly",
        capture="look",
        unit="1",
        where=where,
        gauge="eye",
        limit="yes",
        source=source,
    )


OF_ASSEMBLY = (
    _look(
        "spring.washer",
        "spring seat, washer or rotator, and shims in place?",
        "TM 5-6115-400-35",
    ),
    _look(
        "seal.fitted",
        "new seal on the guide, protector over the groove, its size that of the stem?",
        "engine maker",
    ),
    _look(
        "stem.oiled",
        "stem oiled, face and seat dry, valve back in its own place?",
        "TM 9-6115-604-34; TM 9-4310-397-14",
    ),
    _look("cotter.new", "are the cotters new?", "common practice, no source"),
    _look(
        "cotter.seated",
        "goggles on; stem tapped with a plastic hammer: do both cotters sit in the groove?",
        "TM 5-1940-322-24",
    ),
)
