"""Flight files proposed from headers: understood where they can be, said where they are guesses."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from flyoff.core.problems import Problems
from flyoff.core.tomlfile import parse_toml
from flyoff.flights.propose import propose
from flyoff.flights.read import parse_flight
from flyoff.flights.vocabulary import candidates_for
from flyoff.reduction.run import reduce_flight
from helpers.flights import FOLDER

ALL = {
    "latitude", "longitude", "gps_altitude", "ground_speed", "ground_track", "indicated_airspeed",
    "pressure_altitude", "outside_air_temperature", "magnetic_heading", "manifold_pressure", "rpm",
    "fuel_flow", "vertical_speed",
}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "more"),
    [
        ("sample.csv", {"fuel_remaining"}),
        ("sample.metric.csv", {"fuel_remaining"}),
        ("carded.csv", {"fuel_remaining"}),
        ("carded.metric.csv", {"fuel_mass", "altimeter_setting"}),
    ],
)
def test_every_column_of_the_simulated_recorders_is_understood(name, more):
    text = propose(FOLDER / name)
    flight = parse_flight(text, name, FOLDER)
    assert set(flight.logs[0].channels) == ALL | more
    assert "Columns not used" not in text
    assert "FILL IN" not in text.replace("marked GUESS or FILL IN", "")


def test_a_track_is_proposed_too():
    flight = parse_flight(propose(FOLDER / "sample.gpx"), "f", FOLDER)
    assert {"latitude", "longitude", "ground_speed", "ground_track"} <= set(flight.logs[0].channels)
    assert any(r.kind == "derived" for r in flight.logs[0].repairs)


@pytest.mark.parametrize(
    ("header", "channel"),
    [
        ("IAS", "indicated_airspeed"),
        ("AirSpeed(kt)", "indicated_airspeed"),
        ("TAS", "true_airspeed"),
        ("GndSpd", "ground_speed"),
        ("GS [kts]", "ground_speed"),
        ("TRK", "ground_track"),
        ("HDG", "magnetic_heading"),
        ("OAT", "outside_air_temperature"),
        ("E1 MAP", "manifold_pressure"),
        ("E1 RPM", "rpm"),
        ("E1 FFlow", "fuel_flow"),
        ("AltMSL", "gps_altitude"),
        ("Druckhöhe", "pressure_altitude"),
        ("Außentemperatur", "outside_air_temperature"),
        ("vitesse indiquée", "indicated_airspeed"),
        ("débit carburant", "fuel_flow"),
        ("Fuel Qty", "fuel_remaining"),
        ("VSpd", "vertical_speed"),
        ("locationSpeed(m/s)", "ground_speed"),
        ("Trykhøjde [ft]", "pressure_altitude"),
        ("Fart o. grund [kt]", "ground_speed"),
        ("Tryckhöjd", "pressure_altitude"),
        ("Indikerad fart", "indicated_airspeed"),
        ("Yttertemperatur", "outside_air_temperature"),
        ("Trykkhøyde (ft)", "pressure_altitude"),
        ("Drivstofforbruk [l/h]", "fuel_flow"),
        ("Kierrosluku", "rpm"),
        ("Ulkolämpötila", "outside_air_temperature"),
        ("Grondsnelheid", "ground_speed"),
        ("Drukhoogte", "pressure_altitude"),
        ("Brandstofverbruik", "fuel_flow"),
        ("Toerental", "rpm"),
        ("Velocidad indicada", "indicated_airspeed"),
        ("Altitud de presión", "pressure_altitude"),
        ("Velocità verticale", "vertical_speed"),
        ("Temperatura esterna", "outside_air_temperature"),
        ("Velocità al suolo", "ground_speed"),
        ("Prua magnetica", "magnetic_heading"),
    ],
)
def test_names_in_several_languages(header, channel):
    assert candidates_for(header)[0][1] in {channel, channel.replace("fuel_", "fuel_mass_")}


DEMO = Path(__file__).parents[3] / "src" / "flyoff" / "demo" / "files" / "flights"


def test_the_demo_s_danish_log_is_understood_as_its_flight_file_has_it():
    text = propose(DEMO / "2026-06-02.csv")
    proposed = parse_flight(text, "f", DEMO).card.logs[0]
    written = parse_flight((DEMO / "2026-06-02.toml").read_text("utf-8"), "f", DEMO).card.logs[0]
    assert {c: v.column for c, v in proposed.columns.items()} == {
        c: v.column for c, v in written.columns.items()
    }
    assert proposed.clock == written.clock
    assert "# GUESS: a line before the table says UTC+2" in text
    assert "GUESS: check day and month" in text
    assert "Columns not used" not in text


@pytest.mark.parametrize(
    ("header", "row", "columns", "pattern"),
    [
        ("Dato;Tid;Vist fart [km/h]", "14.05.2026;10:00:{:02d};200", ("Dato", "Tid"), "%d.%m.%Y %H:%M:%S"),
        ("Datum;Tijd;IAS [kt]", "14-05-2026;10:00:{:02d};100", ("Datum", "Tijd"), "%d-%m-%Y %H:%M:%S"),
        ("Date;Heure;Vi [kt]", "14/05/2026;10:00:{:02d};100", ("Date", "Heure"), "%d/%m/%Y %H:%M:%S"),
        ("Päivä;Aika;Mittarinopeus [kt]", "14.05.2026;10.00.{:02d};100", ("Päivä", "Aika"),
         "%d.%m.%Y %H.%M.%S"),
        ("Fecha;Hora;Velocidad indicada [kt]", "2026-05-14;10:00:{:02d};100", ("Fecha", "Hora"),
         "%Y-%m-%d %H:%M:%S"),
        ("Data;Ora;IAS [kt]", "14/05/2026;10:00:{:02d};100", ("Data", "Ora"), "%d/%m/%Y %H:%M:%S"),
    ],
)  # fmt: skip
def test_date_and_time_columns_in_several_languages(tmp_path, header, row, columns, pattern):
    path = tmp_path / "log.csv"
    path.write_text("\n".join([header, *(row.format(i) for i in range(30))]), "utf-8")
    log = parse_flight(propose(path), "f", tmp_path).card.logs[0]
    assert log.clock.columns == columns
    assert log.clock.format == pattern
    assert "indicated_airspeed" in log.columns


def table(tmp_path, header, row, count=30):
    path = tmp_path / "a log.csv"
    rows = [f"2026-05-14 10:00:{i:02d}{row}" for i in range(count)]
    path.write_text("\n".join([*header, *rows]), "utf-8")
    return path


def test_a_units_line_and_a_preamble(tmp_path):
    header = ["#recorder, model x", "#time, deg C, kt, inch Hg", "Local Time,OAT,IAS,MAP"]
    text = propose(table(tmp_path, header, ",12.5,110.0,24.5"))
    assert "header_line = 3" in text
    swapped = ["Zeit,Temperatur aussen OAT,Fahrt IAS,MAP", "utc,degC,km/h,kPa"]
    data = parse_toml(propose(table(tmp_path, swapped, ",12.5,200.0,80.5")), "f").data["logs"][0]
    assert data["header_line"] == 1
    assert data["first_line"] == 3
    assert data["columns"]["indicated_airspeed"] == {"column": "Fahrt IAS", "unit": "km/h"}
    assert data["columns"]["manifold_pressure"]["unit"] == "kPa"


def test_a_guess_is_marked_and_a_unit_that_cannot_be_is_not_taken(tmp_path):
    text = propose(table(tmp_path, ["time,IAS,map_psi,foo"], ",110.0,-3,7"))
    assert "GUESS: the header names no unit; km/h, m/s, mph would fit too" in text
    assert "manifold_pressure" not in text
    assert "#   foo" in text
    assert "#   map_psi" in text


def test_day_and_month_that_could_be_swapped_are_a_guess(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("time;ias\n" + "".join(f"03/04/2026 10:00:{i:02d};100\n" for i in range(20)), "utf-8")
    assert "GUESS: check day and month" in propose(path)
    path.write_text("time;ias\n" + "".join(f"23/04/2026 10:00:{i:02d};100\n" for i in range(20)), "utf-8")
    assert 'date = "2026-04-23"  # as the log says' in propose(path)


def test_a_log_without_a_date_reads_with_a_date_unknown(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("time,ias\n" + "".join(f"10:00:{i:02d},100\n" for i in range(20)), "utf-8")
    text = propose(path)
    assert "FILL IN: YYYY-MM-DD" in text
    flight = parse_flight(text, "f.toml", tmp_path)
    assert not flight.date_known
    assert any("date is not known" in warning for warning in reduce_flight(flight).warnings)


def test_names_with_quotes_survive(tmp_path):
    text = propose(table(tmp_path, ['time,"ias ""A"" (kt)",x'], ",110.0,1"))
    flight = parse_flight(text, "f.toml", tmp_path)
    assert set(flight.logs[0].channels) == {"indicated_airspeed"}


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (bytes(range(256)) * 8, "not text"),
        (b"no table here\nat all\n", "no table"),
        (b"1,2\n3,4\n5,6\n", "has no header"),
        (b"<?xml version='1.0'?><gpx>", "not XML"),
        (b"<?xml version='1.0'?><!DOCTYPE gpx><gpx></gpx>", "document type"),
        (b"<?xml version='1.0'?><gpx></gpx>", "0 track points"),
    ],
)
def test_what_it_cannot_do_it_says(tmp_path, data, said):
    path = tmp_path / "log.csv"
    path.write_bytes(data)
    with pytest.raises(Problems, match=said):
        propose(path)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.lists(st.text(max_size=10), min_size=1, max_size=5), min_size=1, max_size=10),
    st.sampled_from(",;\t"),
)
def test_any_header_gives_valid_toml_or_is_said(tmp_path, table_, separator):
    path = tmp_path / "log.csv"
    rows = [separator.join(row) for row in table_]
    rows += [separator.join(["1"] * max(len(row) for row in table_))] * 5
    path.write_text("\n".join(rows), "utf-8", errors="replace")
    try:
        text = propose(path)
    except Problems:
        return
    parse_toml(text, "f")
