"""From declarations and their properties to the plan's things."""

from __future__ import annotations

from datetime import date
from typing import Any, TypeVar

from groundlint.language import statements as s
from groundlint.language.nodes import Amount, Date, Name
from groundlint.plan.arrangements import arrangement
from groundlint.plan.cables import Stop, build_cables, dig_vaults, lay_cables
from groundlint.plan.measured import read_measured
from groundlint.plan.models import (
    Bar,
    Capacitor,
    Conductor,
    Detector,
    Lead,
    Line,
    LooseWire,
    Mat,
    Neighbour,
    ParallelCircuit,
    Person,
    Rod,
    Rubber,
    Stick,
    Structure,
    SupplySource,
    Switch,
    Tester,
    Thing,
    Vehicle,
)
from groundlint.plan.names import Names
from groundlint.plan.wires import fields_of
from groundlint.text import Span
from groundlint.text.near import nearest
from groundlint.values.units import UnitProblem, parse_quantity
from groundlint.values.wire import WireSize, parse_wire
from groundlint.words.rows import listed

T = TypeVar("T", bound=Thing)

RUBBER_CLASSES, RIGID_CLASSES = ("00", "0", "1", "2", "3", "4"), ("2", "3", "4", "5", "6")
"""Classes of insulating goods: 29 CFR 1910.137 Table I-4 (ASTM D120 and its kin) and ASTM F712, from memory."""

MOST_PHASES, MOST_SHIELDS = 3, 2
"""Phase conductors of a line, at most."""


class Declarations:
    """Gathers things in two passes: structures and conductors first, since the others stand at them."""

    def __init__(self, names: Names, given: dict[str, str]) -> None:
        self.names = names
        self.given = given
        self.amounts: dict[str, tuple[s.Given, Amount | None]] = {}
        self.order: list[Thing] = []
        self.crews: set[str] = set()
        self.line: Line | None = None
        self.soil: tuple[float, ...] = ()
        self.surface: tuple[float, float | None] | None = None
        self.measured: dict[str, float] = {}
        self.places: dict[str, Span] = {}

    # ------------------------------------------------------------- values
    def blanks(self) -> tuple[str, ...]:
        """The open values that nothing fills, in the order of the plan."""
        return tuple(
            name
            for name in self.names.given_places
            if self.names.stand_ins.get(name, "") is None or self.amounts.get(name, (None, ""))[1] is None
        )

    def declare_given(self, st: s.Given) -> None:
        """Takes in an open value: its default, or the value that the caller gives."""
        name = str(st.name)
        if name in self.amounts or name in self.names.stand_ins:
            self.names.refuse(
                "declared-twice", st.place("name"), f"given {name} is declared already", "take this declaration out"
            )
            return
        self.names.given_places[name] = st.span
        text = self.given.get(name)
        value: Amount | Name | None = st.default
        if text is not None:
            parsed = parse_quantity(text)
            value = Name(text, st.span) if isinstance(parsed, UnitProblem) else Amount(text, st.span)
        if isinstance(value, Amount) or str(st.ident) in DIMENSION_WORDS:
            if value is not None and not isinstance(value, Amount):
                self.names.refuse(
                    "bad-given",
                    st.span,
                    f"given {name} is {st.ident}; {value} is no quantity with a unit",
                    "write its unit",
                )
                value = None
            if value is not None and value.quantity is not None and not fits(value.quantity.dimension, str(st.ident)):
                self.names.refuse(
                    "wrong-dimension",
                    value.span if text is None else st.span,
                    f"given {name} is {st.ident}; {value} is {value.quantity.dimension}",
                    "write a quantity of that kind",
                )
                value = None
            self.amounts[name] = (st, value)
        else:
            self.names.stand_ins[name] = str(value) if value is not None else None

    def amount(self, amount: Amount | None, dimension: str) -> float | None:
        """The value in SI; None where it is not stated, or left open."""
        value, cycles = self.time_or_cycles(amount, dimension)
        return value if cycles is None else None

    def time_or_cycles(self, amount: Amount | None, dimension: str) -> tuple[float | None, float | None]:
        """The value in SI, or as a count of cycles where stated in cycles."""
        if amount is None:
            return None, None
        if amount.given is not None:
            declared = self.amounts.get(str(amount.given))
            if declared is None:
                near = nearest(str(amount.given), self.amounts)
                hint = f"did you mean `given {near}`?" if near else f"declare it: `given {amount.given} as {dimension}`"
                self.names.refuse("undeclared-given", amount.span, f"given {amount.given} is declared nowhere", hint)
                return None, None
            inner = declared[1]
            if inner is None:
                return None, None
            if inner.quantity is not None and not fits(inner.quantity.dimension, dimension):
                self.names.refuse(
                    "wrong-dimension",
                    amount.span,
                    f"given {amount.given} is {inner.quantity.dimension}; {dimension} belongs here",
                    "use a value of the right kind",
                )
                return None, None
            amount = inner
        if amount.quantity is None:
            return None, None
        if amount.quantity.dimension == "cycles":
            return None, amount.quantity.si
        return amount.quantity.si, None

    def positive(self, amount: Amount | None, dimension: str, what: str) -> float | None:
        """The value in SI where it is above zero; a message and None otherwise."""
        value = self.amount(amount, dimension)
        if value is not None and amount is not None and value <= 0:
            self.names.refuse("not-positive", amount.span, f"{what} of {amount} cannot be", "write a value above zero")
            return None
        return value

    def not_less(self, amount: Amount | None, dimension: str, what: str) -> float | None:
        """The value in SI where it is nothing or more; a message and None otherwise."""
        value = self.amount(amount, dimension)
        return None if value is not None and value < 0 and self.positive(amount, dimension, what) is None else value

    @staticmethod
    def day(value: Date | None) -> date | None:
        """The calendar day."""
        return None if value is None else date.fromisoformat(value)

    # ------------------------------------------------------------- things
    def _each(self, st: Any, cls: type[T], **values: Any) -> list[T]:
        made: list[T] = []
        for name in self.names.expand(st.names):
            thing = cls(name=str(name), span=name.span, places=st.places, **values)
            if self.names.declare(thing):
                self.order.append(thing)
                made.append(thing)
        return made

    def structures(self, decls: list[s.Structure], route: s.Route | None, cables: list[s.Cable]) -> None:
        """Structures, with their place on the route; vaults of cables stand between those that the route names."""
        hops: dict[str, Stop] = {}
        if route is not None:
            for index, hop in enumerate(route.hops):
                if hop.structure in hops:
                    self.names.refuse(
                        "route-twice",
                        hop.structure.span,
                        f"{hop.structure} stands on the route already",
                        "name each structure once",
                    )
                    continue
                length = self.positive(hop.span_length, "length", "a span")
                hops[hop.structure] = Stop(index, length, hop.structure, hop.span_length)
        laid = lay_cables(self.names, self.positive, hops, cables)
        for st in decls:
            for name in self.names.expand(st.names):
                stop = hops.get(name)
                order = stop.order if stop is not None else None
                made = Structure(
                    name=str(name),
                    span=name.span,
                    places={**st.places, **stop.places} if stop is not None else st.places,
                    order=order,
                    span_after=stop.after if stop is not None else None,
                    material=str(st.material) if st.material else None,
                    footing=self.positive(st.footing, "resistance", "a footing"),
                    pole_ground=st.pole_ground,
                    pole_ground_resistance=self.positive(st.pole_ground_resistance, "resistance", "a pole ground"),
                    guyed=st.guyed,
                    dead_end=st.dead_end and self._ends_at(name, order, len(hops), st),
                )
                if self.names.declare(made):
                    self.order.append(made)
        self.order += dig_vaults(self.names, hops, laid)
        for text, stop in hops.items():
            if text not in self.names.things:
                made = Structure(
                    name=text, span=stop.name.span, places=stop.places, order=stop.order, span_after=stop.after
                )
                self.names.declare(made)
                self.order.append(made)
        self.order += build_cables(self.names, laid)

    def _ends_at(self, name: Name, order: int | None, hops: int, st: s.Structure) -> bool:
        """Whether the line can end at a structure: one at an end of its route, which is one of two."""
        if order is None or hops < 2 or 0 < order < hops - 1:
            self.names.refuse(
                "no-dead-end",
                st.place("dead_end"),
                f"{name} is at no end of the route; where wires end on a pole and jumpers go on, the line does not end",
                "take `dead end` out here, and write it where none of the conductors goes on",
            )
            return False
        return True

    def voltage(self, said: s.Voltage | None) -> float | None:
        """A voltage between phases in V, of which that to ground may be stated."""
        if said is None:
            return None
        if said.amount is not None:
            return self.positive(said.amount, "voltage", "a voltage")
        volts = self.positive(said.to_ground, "voltage", "a voltage")
        return volts * 3**0.5 if volts is not None else None

    def three_phase(self, fault: s.Fault | None) -> float | None:
        """A three-phase fault current in A, of which that between two phases may be stated, sqrt(3)/2 of it."""
        if fault is None:
            return None
        found = self.positive(fault.three_phase, "current", "a fault current")
        if fault.between_phases is None:
            return found
        if found is not None:
            self.names.refuse(
                "said-twice",
                fault.place("between_phases"),
                "the current between two phases follows from the three-phase current, which is stated as well",
                "keep one",
            )
            return found
        two = self.positive(fault.between_phases, "current", "a fault current")
        return two * 2 / 3**0.5 if two is not None else None

    def build_line(self, st: s.Line, props: dict[str, Any]) -> None:
        """The line and its conductors."""
        wires: dict[str, dict[str, Any]] = {}
        if "wires" in props:
            for wire in props["wires"].wires:
                said = fields_of(wire, self.names, self.positive) or {}
                for name in self.names.expand(wire.names):
                    if name in wires:
                        self.names.refuse(
                            "said-twice", name.span, f"the size of {name} is said already", "name each conductor once"
                        )
                    wires[name] = said
        coordinates = {str(c.conductor): c for c in props["place"].coordinates} if "place" in props else {}
        made: dict[str, Conductor] = {}

        def conductor(name: Name, role: str, places: dict[str, Span]) -> Conductor | None:
            hang = coordinates.get(name)
            thing = Conductor(
                name=str(name),
                span=name.span,
                places=places,
                role=role,
                **wires.get(name, {}),
                across=self.amount(hang.across, "length") if hang else None,
                height=self.positive(hang.height, "length", "a height") if hang else None,
            )
            if not self.names.declare(thing):
                return None
            made[thing.name] = thing
            self.order.append(thing)
            return thing

        def strung(st: Any, role: str, most: int, code: str, many: str, mend: str) -> tuple[Conductor, ...] | None:
            """Conductors of one role; None where there are more than a line has."""
            found = tuple(c for name in self.names.expand(st.names) if (c := conductor(name, role, st.places)))
            if len(found) <= most:
                return found
            self.names.refuse(code, found[most].span, f"{found[most]} is a {many}", mend)
            return None

        phases = neutral = shield = None
        if "phases" in props:
            many = "phase too many; a line has at most three"
            mend = "name the neutral under `neutral`, a shield wire under `shield`, another circuit as `parallel`"
            phases = strung(props["phases"], "phase", MOST_PHASES, "too-many-phases", many, mend)
        if "neutral" in props:
            st_n = props["neutral"]
            neutral = conductor(st_n.name, "neutral", st_n.places) if st_n.name else False
        if "shield" in props:
            many = "shield wire too many; a line has at most two"
            mend = "name the phases under `phases`, the neutral under `neutral`"
            shield = strung(props["shield"], "shield", MOST_SHIELDS, "too-many-shield-wires", many, mend)
        for word in [*wires, *coordinates]:
            if word not in made:
                place = props["wires"].span if word in wires else props["place"].span
                self.names.refuse(
                    "undeclared-name",
                    place,
                    f"{word} is no conductor of this line",
                    f"write it with its unit where it is a size, such as `{word} kcmil` or `{word} mm2`"
                    if word.replace(".", "").isdigit()
                    else "name it under `phases`, `neutral` or `shield`"
                    + ("; a wire's code word is left out" if len(word) > 3 and word.isalpha() else ""),
                )
        places = {key: prop.span for key, prop in props.items()}
        for sub in ("earthing", "duty"):
            if "neutral" in props and sub in props["neutral"].places:
                places[f"neutral_{sub}"] = props["neutral"].place(sub)
        name, *others = self.names.expand(st.names) or st.names
        for other in others:
            mend = f"write a plan of its own for {other}; a circuit beside this line is a `parallel {other}`"
            self.names.refuse("second-line", other.span, f"{other} would be a second line; a plan is of one", mend)
        self.line = Line(
            name=str(name),
            span=st.span,
            places=places,
            voltage=self.voltage(props.get("voltage")),
            frequency=self.positive(props["frequency"].amount, "frequency", "a frequency")
            if "frequency" in props
            else None,
            altitude=self.amount(props["altitude"].amount, "length") if "altitude" in props else None,
            approach=self.positive(props["approach"].amount, "length", "a distance") if "approach" in props else None,
            phases=phases,
            neutral=neutral,
            shield=shield,
            shield_insulated="shield" in props and props["shield"].on_insulators,
            neutral_earthing=str(props["neutral"].earthing)
            if "neutral" in props and props["neutral"].earthing
            else None,
            neutral_duty=str(props["neutral"].duty) if "neutral" in props and props["neutral"].duty else None,
            spacing=arrangement(props["spacing"], self.names) if "spacing" in props else None,
        )
        if self.names.declare(self.line):
            self.order.append(self.line)

    def build_source(self, st: s.SourceDecl, props: dict[str, Any]) -> None:
        """A source with its properties."""
        env: dict[str, str] = {}
        where = st.beyond or st.at
        at = self.names.find(where, env, Structure) if where else None
        if st.beyond and isinstance(at, Structure) and at.dead_end:
            self.names.refuse(
                "no-dead-end",
                st.beyond.span,
                f"the line ends at {at}, and nothing of it is beyond",
                f"write `at {at}` where the source feeds in there, or take `dead end` out",
                (at.place("dead_end"), "it ends here"),
            )
        fault, clears, relay, imp, power = (props.get(k) for k in ("fault", "clears", "relay", "impedance", "power"))
        clearing, cycles = self.time_or_cycles(clears.amount, "time") if clears else (None, None)
        if relay is not None and clears is not None and clears.least is not None:
            self.names.refuse(
                "said-twice",
                clears.place("least"),
                "what current its device clears is said by its relay already",
                "write the time alone, or, of a fuse, take the relay out",
                (relay.span, "its relay"),
            )
        breaker, breaker_cycles = self.time_or_cycles(relay.breaker, "time") if relay else (None, None)
        ratio = (fault.x_over_r if fault else None) or (power.x_over_r if power else None)
        places = dict(st.places) | {key: prop.span for key, prop in props.items()}
        for key, prop, clause in (
            ("three_phase", fault, "three_phase" if fault is None or fault.three_phase else "between_phases"),
            ("to_ground", fault, "to_ground"),
            ("x_over_r", fault, "x_over_r"),
        ):
            if prop is not None:
                places[key] = prop.place(clause)
        pair = [
            tuple(v for v in (self.amount(a, "resistance") for a in side) if v is not None)
            for side in ((imp.positive or (), imp.zero or ()) if imp else ((), ()))
        ]
        made = self._each(
            st,
            SupplySource,
            sort=str(st.sort) if st.sort else "utility",
            at=at,
            beyond=st.beyond is not None,
            located=not st.located,
            voltage=self.voltage(props.get("voltage")),
            three_phase=self.three_phase(fault),
            to_ground=self.positive(fault.to_ground, "current", "a fault current") if fault else None,
            x_over_r=float(ratio) if ratio else None,
            power=self.positive(power.amount, "power", "a fault level") if power else None,
            positive=pair[0] if len(pair[0]) == 2 else None,
            zero=pair[1] if len(pair[1]) == 2 else None,
            clearing=clearing,
            clearing_cycles=cycles,
            clears_from=self.positive(clears.least, "current", "a current at which a device clears")
            if clears
            else None,
            never_clears=bool(clears and clears.never),
            relay=str(relay.ident) if relay else None,
            pickup=self.positive(relay.pickup, "current", "a pickup") if relay else None,
            dial=float(relay.dial) if relay and relay.dial else None,
            breaker=breaker,
            breaker_cycles=breaker_cycles,
            reclosing=str(props["reclosing"].state) if "reclosing" in props else None,
            system=str(props["grounding"].system) if "grounding" in props else None,
        )
        for thing in made:
            object.__setattr__(thing, "places", places)

    def build_parallel(self, st: s.Parallel, props: dict[str, Any]) -> None:
        """A parallel circuit with its properties."""
        ends = [self.names.find(n, {}, Structure) for n in st.beside or ()]
        fault, clears = props.get("fault"), props.get("clears")
        over = next((one for one in ("three_phase", "between_phases") if fault and getattr(fault, one) is not None), "")
        if fault is not None and over:
            self.names.refuse(
                "not-of-a-circuit",
                fault.place(over),
                "of a fault on a circuit beside the line only the current to ground is computed with",
                "write `fault 4 kA to ground, x/r 9`, and what feeds the line as a source",
            )
        if clears is not None and clears.least is not None:
            self.names.refuse(
                "not-of-a-circuit",
                clears.place("least"),
                "of a circuit beside the line only the time is computed with in which a fault on it is cleared",
                "write the longest time that a fault on it lasts, such as `clears in 24 cycles`",
            )
        clearing, cycles = self.time_or_cycles(clears.amount, "time") if clears else (None, None)
        made = self._each(
            st,
            ParallelCircuit,
            first=ends[0] if ends else None,
            last=ends[-1] if ends else None,
            distance=self.positive(st.distance, "length", "a distance"),
            voltage=self.voltage(props.get("voltage")),
            current=self.positive(props["current"].amount, "current", "a current") if "current" in props else None,
            residual=self.not_less(props["residual"].amount, "current", "a current") if "residual" in props else None,
            spacing=arrangement(props["spacing"], self.names) if "spacing" in props else None,
            to_ground=self.positive(fault.to_ground, "current", "a fault current") if fault else None,
            x_over_r=float(fault.x_over_r) if fault and fault.x_over_r else None,
            clearing=clearing,
            clearing_cycles=cycles,
            never_clears=bool(clears and clears.never),
        )
        places = dict(st.places) | {k: p.span for k, p in props.items()}
        if fault is not None:
            places |= {clause: fault.place(clause) for clause in ("to_ground", "x_over_r")}
        for thing in made:
            object.__setattr__(thing, "places", places)

    def build_switches(self, decls: list[s.Switch], through: dict[str, s.Through]) -> None:
        """Open points, then their sides, which may be other open points, then the sources they stand before."""
        made: list[tuple[Switch, s.Switch]] = []
        for st in decls:
            made += [
                (switch, st)
                for switch in self._each(
                    st,
                    Switch,
                    sort=str(st.sort),
                    position=str(st.position) if st.position else None,
                    tagged=st.tagged,
                    locked=st.locked,
                    visible=st.visible and not st.hidden,
                    hidden=st.hidden,
                    control=str(st.control) if st.control else None,
                    public=str(st.reach).startswith("within") if st.reach else None,
                    no_lock=st.no_lock,
                    control_stays=st.control_stays,
                    trips_open=st.trips_open,
                    tools_to_close=st.tools_to_close,
                    override_blocked=st.override_blocked,
                    override_procedure=st.override_procedure,
                )
            ]
        before: dict[str, list[Switch]] = {}
        for switch, st in made:
            sides = [self.names.find(n, {}, SupplySource, Structure, Switch, Capacitor) for n in st.between or ()]
            object.__setattr__(switch, "sides", tuple(side for side in sides if side is not None))
            place = st.at or st.away_from
            if place is not None:
                object.__setattr__(switch, "hangs", self.names.find(place, {}, Structure))
                away = 0.0 if st.at else self.positive(st.away, "length", "the distance to an open point")
                object.__setattr__(switch, "away", away)
            for side in sides:
                if isinstance(side, SupplySource):
                    before.setdefault(side.name, []).append(switch)
        for source in [t for t in self.order if isinstance(t, SupplySource)]:
            ways = before.get(source.name, [])
            if source.name in through:
                st_t = through[source.name]
                named = [self.names.find(n, {}, Switch) for n in self.names.expand(st_t.names)]
                for switch in ways:
                    if switch not in named:
                        self.names.refuse(
                            "switch-not-named",
                            switch.span,
                            f"{switch} touches {source} but is not among the open points that its `through` names",
                            f"add {switch} to `through`",
                            (st_t.span, f"the open points of {source} are named here"),
                        )
                ways = [switch for switch in named if isinstance(switch, Switch)]
            elif len(ways) > 1:
                together = " ".join(w.name for w in ways)
                self.names.refuse(
                    "switches-not-named",
                    ways[1].span,
                    f"{len(ways)} open points touch {source}, which must name them all, so that none is left out",
                    f"write `through {together}` under source {source}",
                    (source.span, f"source {source}"),
                )
            elif not ways and source.beyond:
                # with no other open point, those between structures are what cuts off the line behind them
                ways = [switch for switch, _ in made if switch.hop is not None]
            else:  # those in line with the one that touches it
                for way in ways:
                    ways += [one for one, _ in made if one not in ways and (way in one.sides or one in way.sides)]
            for switch in ways:
                object.__setattr__(switch, "sources", (*switch.sources, source))

    def build_capacitors(self, decls: list[s.Capacitor]) -> list[tuple[Capacitor, Name]]:
        """Capacitors, and the names of the structures that they are on."""
        return [(made, st.at) for st in decls for made in self._each(st, Capacitor) if st.at is not None]

    def place_capacitors(self, made: list[tuple[Capacitor, Name]]) -> None:
        """Their structures, once everything is declared."""
        for capacitor, at in made:
            object.__setattr__(capacitor, "at", self.names.find(at, {}, Structure))
        for switch in (one for one in self.order if isinstance(one, Switch)):
            for bank in (side for side in switch.sides if isinstance(side, Capacitor)):
                other = next((side for side in switch.sides if side is not bank), None)
                if not isinstance(other, Structure) or bank.at not in (None, other):
                    said = f"{switch} parts {bank} from {other or 'itself'}, and not from the structure that it is on"
                    mend = f"write `between {bank.at} and {bank}`" if bank.at else "name that structure"
                    self.names.refuse("capacitor-elsewhere", switch.span, said, mend)

    def build_equipment(self, st: s.Statement) -> None:
        """Equipment, vehicles, mats, people, soil."""
        match st:
            case s.Rod():
                self._each(
                    st,
                    Rod,
                    **self._dates(st),
                    length=self.positive(st.length, "length", "a rod"),
                    diameter=self.positive(st.across, "length", "a rod"),
                )
            case s.Bar():
                self._each(st, Bar, **self._dates(st))
            case s.Lead():
                area = None
                if st.size is not None:
                    parsed = parse_wire(str(st.size))
                    if isinstance(parsed, UnitProblem):
                        self.names.refuse(
                            "bad-wire-size", st.size.span, parsed.message, "write a size such as 2/0, 2 AWG or 95 mm2"
                        )
                    else:
                        area = parsed.area
                metal = str(st.metal) if st.metal else None
                if st.metal is not None and metal is not None and metal.endswith("steel"):
                    self.names.refuse(
                        "lead-of-steel", st.metal.span, f"no lead is of {st.metal.span.text}", "write `copper`"
                    )
                    metal = None
                self._each(
                    st,
                    Lead,
                    **self._dates(st),
                    size=str(st.size) if area else None,
                    area=area,
                    metal=metal,
                    length=self.positive(st.length, "length", "a lead"),
                    grade=str(st.grade) if st.grade else None,
                    rated=self._rated(st),
                    clamps=str(st.clamps) if st.clamps else None,
                    clamps_grade=str(st.clamps_grade) if st.clamps_grade else None,
                    alloy=str(st.alloy) if st.alloy else None,
                    jaws=str(st.jaws) if st.jaws else None,
                    fit_area=self._fit(st, [parse_wire(str(size)) for size in st.fit_size]),
                    fit_across=self._fit(st, [self.positive(a, "length", "a conductor") for a in st.fit_across]),
                )
            case s.Detector():
                ends = [self.amount(a, "voltage") for a in st.range or ()]
                if len(ends) == 2 and ends[0] is not None and ends[1] is not None and ends[0] > ends[1]:
                    self.names.refuse(
                        "range-backwards",
                        st.place("range"),
                        f"the range runs from {st.range[0]} down to {st.range[1]}",
                        "write the lower voltage first",
                    )
                    ends = []
                low, high = ends if len(ends) == 2 else (None, None)
                self._each(
                    st,
                    Detector,
                    **self._dates(st),
                    lowest=low,
                    highest=high,
                    detecting=str(st.detecting) if st.detecting else None,
                )
            case s.Tester():
                self._each(st, Tester, **self._dates(st))
            case s.Stick():
                self._each(st, Stick, **self._dates(st), length=self.positive(st.length, "length", "a stick"))
            case s.Rubber():
                self._each(st, Rubber, **self._dates(st), sort=str(st.sort), rating=self._class(st))
            case s.LooseWire():
                self._each(st, LooseWire, length=self.positive(st.length, "length", "a loose wire"))
            case s.Mat():
                self._each(st, Mat)
            case s.Vehicle():
                self._each(
                    st,
                    Vehicle,
                    **self._dates(st),
                    body=str(st.body) if st.body else None,
                    insulation=str(st.insulation) if st.insulation else None,
                )
            case s.Crew():
                if st.crew_name:
                    self.crews.add(str(st.crew_name))
                for member in st.members:
                    for name in self.names.expand(member.names):
                        person = Person(
                            name=str(name),
                            span=name.span,
                            role=str(member.role),
                            qualified=member.qualified,
                            crew=str(st.crew_name) if st.crew_name else None,
                            under=str(st.under) if st.under else None,
                            places={"crew": st.span},
                        )
                        if self.names.declare(person):
                            self.order.append(person)
            case s.Soil():
                upper, depth, lower = (
                    self.positive(a, d, "this value")
                    for a, d in ((st.amount, "resistivity"), (st.depth, "length"), (st.lower, "resistivity"))
                )
                if self.soil:
                    self.names.refuse(
                        "said-twice",
                        st.span,
                        "the soil is stated already",
                        "keep one",
                        (self.places["soil"], "stated here"),
                    )
                elif upper is not None:
                    self.soil = (upper,) if depth is None or lower is None else (upper, depth, lower)
                    self.places["soil"] = st.span
            case s.Measured():
                read_measured(st, self.names, self.amount, self.measured)
            case s.Surface():
                value = self.positive(st.amount, "resistivity", "a resistivity")
                if value is not None:
                    self.surface = (value, self.positive(st.thick, "length", "a thickness"))
                    self.places["surface"] = st.span

    def build_neighbour(self, st: s.Neighbour, props: dict[str, Any]) -> None:
        """A live neighbour with its properties."""
        at = self.names.find(st.at, {}, Structure) if st.at else None
        point = self.names.point(st.gap_from, {}, at if isinstance(at, Structure) else None) if st.gap_from else None
        if st.covered and st.bare:
            self.names.refuse(
                "contradiction",
                st.span,
                f"{listed([str(name) for name in st.names])} is said to be covered and bare",
                "take one of them out",
            )
        goods = tuple(
            one for name in self.names.expand(st.goods) if isinstance(one := self.names.find(name, {}, Rubber), Rubber)
        )
        for one in goods:
            before = self.places.setdefault(f"where {one} is", st.span)
            if before is not st.span or len(goods) < len(st.names):
                self.names.refuse(
                    "goods-in-two-places",
                    st.place("goods"),
                    f"{one} covers two live parts",
                    "declare another, with a name of its own",
                    (before, f"{one} is said to be here"),
                )
        made = self._each(
            st,
            Neighbour,
            at=at,
            voltage=self.positive(st.live, "voltage", "a voltage"),
            gap=self.positive(st.gap, "length", "a distance"),
            gap_from=point if isinstance(point, tuple) and hasattr(point, "sort") else None,
            covered=st.covered,
            bare=st.bare and not st.covered,
            goods=goods,
            reclosing=str(props["reclosing"].state) if "reclosing" in props else None,
        )
        for thing in made:
            object.__setattr__(thing, "places", dict(st.places) | {k: p.span for k, p in props.items()})

    def _class(self, st: s.Rubber) -> str | None:
        """The class marked on insulating goods."""
        classes = RIGID_CLASSES if st.sort == "rigid cover" else RUBBER_CLASSES
        if st.rating is None or st.rating in classes:
            return str(st.rating) if st.rating else None
        self.names.refuse(
            "no-such-class",
            st.rating.span,
            f"{st.sort}s".replace("ss", "s") + f" have no class {st.rating}",
            f"write the class that is marked on it: {', '.join(classes)}",
        )
        return None

    def _rated(self, st: s.Lead) -> tuple[float, float] | None:
        """Current in A and time in s of a label."""
        if len(st.rated) != 2:
            return None
        current = self.positive(st.rated[0], "current", "a rating")
        time = self.positive(st.rated[1], "time", "a rating")
        return (current, time) if current is not None and time is not None else None

    def _fit(self, st: s.Lead, ends: list[WireSize | UnitProblem | float | None]) -> tuple[float, float] | None:
        """Smallest and largest of what clamps fit; None where it is not said, or left open."""
        found = [end.area if isinstance(end, WireSize) else end for end in ends]
        low, high = found if len(found) == 2 else (None, None)
        if not isinstance(low, float) or not isinstance(high, float):
            return None
        if low > high:
            said = st.fit_size or st.fit_across
            self.names.refuse(
                "range-backwards",
                st.place("fit_size" if st.fit_size else "fit_across"),
                f"the clamps fit {said[0]} down to {said[1]}",
                "write the smaller conductor first",
            )
            return None
        return low, high

    def _dates(self, st: s.Equipment) -> dict[str, date | None]:
        return {"tested": self.day(st.tested), "inspected": self.day(st.inspected), "due": self.day(st.due)}


DIMENSION_WORDS = frozenset(
    {"length", "current", "voltage", "resistance", "resistivity", "time", "frequency", "power"}
    | {"resistance-per-length", "temperature"}
)


def fits(dimension: str, wanted: str) -> bool:
    """Whether a quantity of ``dimension`` serves where ``wanted`` belongs; cycles serve as a time."""
    return dimension == wanted or (dimension == "cycles" and wanted == "time")


__all__ = ["Declarations", "fits"]
