"""What is measured on a seat, and how its pair with the valve is proved tight."""

from daq.head.catalogue.about import Characteristic

OF_SEAT = (
    Characteristic(
        name="seat.width",
        part="seat",
        stage="seat",
        capture="settle",
        unit="mm",
        where="scale or loupe across the seat, or the band of blue; 3 or 4 places",
        gauge="loupe or caliper",
        zeroing="closed jaws",
        limit="band",
        made_new_by=("seat",),
        source="TM 9-6115-604-34; TM 10-3930-671-24",
    ),
    Characteristic(
        name="seat.runout",
        part="seat",
        stage="seat",
        capture="turn",
        unit="mm",
        where="lever indicator on a close-fitting pilot in the guide, stylus on the seat, one turn",
        gauge="lever indicator on a pilot",
        zeroing="any reading",
        limit="most",
        made_new_by=("seat",),
        source="TM 5-4320-300-14 step 38; TM 5-3805-255-14",
    ),
    Characteristic(
        name="seat.leak",
        part="seat",
        stage="leak test",
        capture="decay",
        unit="mbar.l/s",
        where="vacuum or low pressure on the port, shut off, gauge and time; the loss times the "
        "volume is the leak",
        gauge="pressure gauge",
        zeroing="ambient pressure",
        limit="most",
        made_new_by=("seat", "valve"),
        source="common practice, no source",
    ),
    Characteristic(
        name="seat.leak_fluid",
        part="seat",
        stage="leak test",
        capture="look",
        unit="1",
        where="chamber up, plug in, high-flash solvent in, look into the port until the time is "
        "over: dry?",
        gauge="eye and clock",
        limit="yes",
        made_new_by=("seat", "valve"),
        source="NIMI theory p. 68; the time is common practice, no source",
    ),
)
