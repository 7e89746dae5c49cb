"""What is looked at and measured on the head itself; its position is the word `head`."""

from daq.head.catalogue.about import Characteristic

OF_HEAD = (
    Characteristic(
        name="head.clean",
        part="head",
        stage="cleaning",
        capture="look",
        unit="1",
        where="clean, dry, free of oil, carbon, grit and old gasket, at the temperature of the "
        "gauges? no metal scraper in a guide",
        gauge="eye",
        limit="yes",
        source="TM 5-3810-306-34; TM 5-6115-400-35",
    ),
    Characteristic(
        name="head.cracks",
        part="head",
        stage="crack check",
        capture="look",
        unit="1",
        where="free of cracks? iron: magnetic particles; aluminium: dye penetrant; both: pressure "
        "test of the water jacket; which cracks may stay is the engine maker's word",
        gauge="eye, with magnetic particles or dye",
        limit="yes",
        source="TM 5-3810-306-34",
    ),
    Characteristic(
        name="head.flatness",
        part="head",
        stage="head face",
        capture="settle",
        unit="mm",
        where="straight edge on the face, thickest leaf that goes under it, along every line; or "
        "an indicator on a plate, largest less smallest",
        gauge="straight edge and feeler leaves",
        zeroing="surface plate",
        places="spots",
        limit="most",
        made_new_by=("head",),
        source="NIMI ex. 2.11",
    ),
    Characteristic(
        name="head.height",
        part="head",
        stage="head face",
        capture="settle",
        unit="mm",
        where="height gauge or large micrometer, head face to the opposite face",
        gauge="height gauge",
        zeroing="surface plate",
        closes=True,
        limit="least",
        source="common practice, no source",
    ),
)
