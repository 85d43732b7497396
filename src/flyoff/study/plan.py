"""A flight to be planned: its file, the dossier, what is known, and the plan as text, data or cards."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from flyoff.core.draws import COVERAGE_95
from flyoff.core.problems import Collector, Problem, Problems, near_miss
from flyoff.core.quantity import Quantity
from flyoff.core.record import Context, validate
from flyoff.core.sources import Place
from flyoff.core.tomlfile import Document, read_toml
from flyoff.core.units import ft, minute
from flyoff.dossier.airplane import Airplane
from flyoff.dossier.loading import Item
from flyoff.dossier.read import Dossier, read_dossier, read_sources
from flyoff.flights import plan as asked
from flyoff.flights.card import FlightFile, Instruments
from flyoff.flights.read import read_flight
from flyoff.model import performance
from flyoff.model.fit import Fit, fit_airplane
from flyoff.planning.before import TABLES, known_before
from flyoff.planning.loading import Loaded, check_loading, moments_of, ramp_mass
from flyoff.planning.output import plan_data, plan_text
from flyoff.planning.plan import Plan, make_plan
from flyoff.planning.request import Accuracy, Request
from flyoff.reduction.run import Reduction, reduce_flight
from flyoff.report import cards

__all__ = ["plan_data", "plan_text", "planned", "write_cards"]

_ABOVE_FIELD_M = (2000 * ft, 8000 * ft)
_RESERVE_S = 45 * minute
_TAXI_M3 = 0.004
_CRUISE = 0.65


def planned(path: Path) -> Plan:
    """Return the plan that a flight file asks for; its airplane's dossier is in the study around it.

    Raises
    ------
    Problems
        All that is wrong in the files, in the loading, or with what is asked.
    """
    collector = Collector()
    document = read_toml(path, str(path))
    card = validate(FlightFile, Context(document, document.data.get("source")), collector)
    collector.raise_any()
    assert card is not None  # the collector has spoken otherwise
    if card.plan is None:
        expected = "expected [plan] with time and airfield_elevation"
        raise Problems([Problem(Place(document.name, field="plan"), "missing", expected)])
    dossier = _dossier(path, card, document, collector)
    loaded = _loaded(card, dossier.airplane, document, collector)
    collector.raise_any()
    reductions = [
        reduce_flight(read_flight(_prior(path, name, i, document), name))
        for i, name in enumerate(card.plan.prior_flights)
    ]
    density = loaded.fuel_density_kg_m3
    fit, said = _fit(dossier, reductions, density)
    request = _request(card, card.plan, dossier, fit, loaded, document)
    plan = make_plan(request, path.stem, document.place("plan"), (*said, *_assumed(card, card.plan)))
    spare_kg = max(request.fuel_kg - request.reserve_kg, 0.0)
    moments = moments_of(dossier.airplane, request.taxi_fuel_kg, plan.cost.fuel_kg, spare_kg)
    balances = check_loading(dossier.airplane, loaded, moments, document.place("loading"), collector)
    collector.raise_any()
    return replace(plan, balances=balances)


def write_cards(plan: Plan, flight: Path, folder: Path) -> tuple[Path, ...]:
    """Write the plan's cards and the page to fill in, which gives the flight file back, into a folder."""
    return cards.write_cards(plan, flight.read_text("utf-8"), folder)


def _dossier(path: Path, card: FlightFile, document: Document, collector: Collector) -> Dossier:
    place = document.place("aircraft")
    root = path.resolve().parent.parent
    file = root / "aircraft" / f"{card.aircraft}.toml"
    if card.aircraft is None or not file.is_file():
        known = sorted(found.stem for found in (root / "aircraft").glob("*.toml"))
        listed = ", ".join(known) or "none there yet"
        found = "missing" if card.aircraft is None else f"no file aircraft/{card.aircraft}.toml"
        expected = (
            f"expected a file of the study's aircraft/ ({listed}){near_miss(card.aircraft or '', known)}"
        )
        raise Problems([Problem(place, found, expected)])
    sources = read_sources(root / "sources.toml", "sources.toml", collector)
    dossier = read_dossier(file, f"aircraft/{card.aircraft}.toml", sources, collector)
    collector.raise_any()
    assert dossier is not None  # the collector has spoken otherwise
    return dossier


def _prior(path: Path, name: str, index: int, document: Document) -> Path:
    folders = (path.parent, path.resolve().parent.parent / "flights")
    for file in (folder / f"{name}.toml" for folder in folders):
        if file.is_file() and Path(name).name == name:
            return file
    known = sorted(found.stem for folder in folders for found in folder.glob("*.toml"))
    expected = f"expected a flight of the study{near_miss(name, known)}"
    raise Problems(
        [Problem(document.place("plan", "prior_flights", index), f"no file {name}.toml", expected)]
    )


def _loaded(card: FlightFile, airplane: Airplane, document: Document, collector: Collector) -> Loaded:
    loading, place = card.loading, document.place("loading")
    for key in ("fuel_at_start", "fuel_density"):
        if getattr(loading, key) is None:
            collector.add(
                Place(place.file, place.line, f"loading.{key}"), "missing", "expected it for a plan"
            )
    if loading.ramp_weight is None and not loading.occupants:
        collector.add(place, "no weight", "expected ramp_weight, or [[loading.occupants]]")
    stations = {station.name: station for station in airplane.stations}
    items = []
    for index, occupant in enumerate(loading.occupants):
        if occupant.station in stations:
            items.append(Item(occupant.station, occupant.weight.si, stations[occupant.station].arm.si))
            continue
        expected = f"expected a station of the dossier{near_miss(occupant.station, stations)}"
        where = document.place("loading", "occupants", index, "station")
        collector.add(where, f"unknown station '{occupant.station}'", expected)
    collector.raise_any()
    assert loading.fuel_at_start is not None
    assert loading.fuel_density is not None
    return Loaded(tuple(items), loading.fuel_at_start.si, loading.fuel_density.si, _si(loading.ramp_weight))


def _fit(dossier: Dossier, reductions: Sequence[Reduction], density: float) -> tuple[Fit, tuple[str, ...]]:
    has_tables = bool(TABLES & set(dossier.tables))
    if reductions:
        fit = fit_airplane(dossier, reductions, fuel_density_kg_m3=density, use_handbook=has_tables)
        return fit, fit.remarks
    if has_tables:
        return known_before(dossier, density), ()
    return known_before(dossier, density), (
        "No handbook tables: planned from what is known of the class alone.",
    )


def _request(
    card: FlightFile, plan: asked.Plan, dossier: Dossier, fit: Fit, loaded: Loaded, document: Document
) -> Request:
    density, airplane = loaded.fuel_density_kg_m3, dossier.airplane
    field_m = plan.airfield_elevation.si
    lowest_m, highest_m = (
        field_m + above if given is None else given.si
        for given, above in zip((plan.lowest, plan.highest), _ABOVE_FIELD_M, strict=True)
    )
    cruise = _CRUISE if plan.cruise_power is None else plan.cruise_power.si
    _check(plan, field_m, lowest_m, highest_m, cruise, document)
    flow = float(performance.cruise_fuel_flow(fit.nominal, cruise * fit.known.rated_power_w))
    taxi = airplane.allowances.taxi_fuel
    return Request(
        fit=fit,
        airplane=airplane,
        time_s=plan.time.si,
        fuel_kg=loaded.fuel_m3 * density,
        reserve_kg=_RESERVE_S * flow if plan.reserve_fuel is None else plan.reserve_fuel.si * density,
        taxi_fuel_kg=(_TAXI_M3 if taxi is None else taxi.si) * density,
        usable_fuel_kg=sum(tank.usable.si for tank in airplane.tanks) * density,
        fuel_density_kg_m3=density,
        ramp_mass_kg=ramp_mass(airplane, loaded),
        field_m=field_m,
        lowest_m=lowest_m,
        highest_m=highest_m,
        cruise_altitude_m=highest_m if plan.cruise_altitude is None else plan.cruise_altitude.si,
        cruise_power_ratio=cruise,
        isa_deviation_k=_si(plan.isa_deviation) or 0.0,
        figures=tuple(dict.fromkeys(plan.figures)),
        accuracy=_accuracy(card.instruments),
    )


def _check(
    plan: asked.Plan, field_m: float, lowest_m: float, highest_m: float, cruise: float, document: Document
) -> None:
    collector = Collector()

    def place(key: str) -> Place:
        return document.place("plan", key)

    if not 0 < plan.time.si <= 12 * 60 * minute:
        collector.add(place("time"), str(plan.time), "expected up to 12 hours")
    if not -500 <= field_m <= 6000:
        found = str(plan.airfield_elevation)
        collector.add(place("airfield_elevation"), found, "expected an airfield on the Earth")
    if lowest_m < field_m + 1000 * ft - 1e-6:
        collector.add(place("lowest"), str(plan.lowest), "expected 1,000 ft above the airfield or more")
    if highest_m < lowest_m:
        collector.add(place("highest"), f"below lowest, {lowest_m / ft:,.0f} ft", "expected a higher one")
    if highest_m > 9000:
        collector.add(place("highest"), str(plan.highest), "expected at most 29,500 ft")
    if not 0.3 <= cruise <= 1.0:
        collector.add(place("cruise_power"), str(plan.cruise_power), "expected 30 to 100 %")
    collector.raise_any()


def _accuracy(instruments: Instruments) -> Accuracy:
    """Return the standard uncertainties of the instruments, where the flight file says them."""
    given: dict[str, float] = {}

    def take(name: str, quantity: Quantity | None, divisor: float) -> None:
        if quantity is not None:
            given[name] = quantity.si / divisor

    take("u_calibration_m_s", instruments.airspeed_correction_u95, COVERAGE_95)
    take("u_temperature_k", instruments.oat_u95, COVERAGE_95)
    take("u_flow_scale_ratio", instruments.fuel_flow_u95, COVERAGE_95)
    accuracy = replace(Accuracy(), **given)
    if instruments.airspeed_resolution is None:
        return accuracy
    coarse = instruments.airspeed_resolution.si / 12**0.5
    return replace(accuracy, u_airspeed_m_s=(accuracy.u_airspeed_m_s**2 + coarse**2) ** 0.5)


def _assumed(card: FlightFile, plan: asked.Plan) -> tuple[str, ...]:
    """Say what was taken for what the flight file leaves open."""
    own, said = card.instruments, []
    if own.airspeed_correction_u95 is None:
        said.append("Airspeed correction: taken as known to ± 5 kt (instruments.airspeed_correction_u95).")
    if own.fuel_flow_u95 is None:
        said.append("Fuel flow: taken as known to ± 3.9 % (instruments.fuel_flow_u95).")
    if plan.reserve_fuel is None:
        said.append("Reserve: taken as 45 minutes of cruise (plan.reserve_fuel).")
    if not card.loading.occupants:
        said.append("Balance: not checked, for the file does not say where things are (loading.occupants).")
    return tuple(said)


def _si(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.si
