"""Sound plans in great variety: each protects its crew in a way that the rulebooks accept, and says so in its own way.

``sound_plan(seed)`` is the text; ``draft(seed)`` the rows that it is made of, for taking a protection out of it.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from random import Random
from typing import Any

from plan_rows import BODY, ROUTINE, STAGE, STEP, Draft, Layout, Row, row, step
from sound_grounds import Names, Shape, cleared, lead_count, proven, put_on, shape, take_off, tested_conductors, tests
from sound_sites import Site, crew, equipment, headers, line, ranged, site, sources, surroundings


def sound_plan(seed: int) -> str:
    """The text of a sound plan; the same for the same seed."""
    return draft(seed).text()


def draft(seed: int) -> Draft:
    """A sound plan as rows; the same for the same seed."""
    rng = Random(f"sound plan {seed}")
    return _Builder(rng).build()


class _Builder:
    def __init__(self, rng: Random) -> None:
        self.rng = rng
        self.site: Site = site(rng)
        self.rods: list[str] = []
        self.bars: list[str] = []
        self.leads: list[str] = []
        self.routines: list[list[Row]] = []
        self.held = False
        self.about: dict[str, Any] = {}

    # ---- names
    def _leads(self, count: int) -> tuple[str, ...]:
        start = 1 + 10 * ((int(self.leads[-1][1:]) // 10) + 1 if self.leads else 0)
        found = tuple(f"G{number}" for number in range(start, start + count))
        self.leads += found
        return found

    def _names(self, form: Shape, structure: str) -> Names:
        rod = bar = ""
        if form.electrode == "rod":
            rod = f"R{len(self.rods) + 1}"
            self.rods.append(rod)
        if form.start == "bar" and form.kind != "none":
            bar = f"K{len(self.bars) + 1}"
            self.bars.append(bar)
        count = 0 if form.kind == "none" else lead_count(self.site, form)
        return Names(structure, rod, bar, self._leads(count))

    # ---- routines
    def _routine(self, form: Shape, title: str, deep: str) -> None:
        count = lead_count(self.site, form)
        letters = self.rng.choice(("abcdefgh", "pqrstuvw"))[:count]
        names = Names("S", "RX" if form.electrode == "rod" else "", "KX" if form.start == "bar" else "", tuple(letters))
        params = ["{noun} S".format(noun=self.rng.choice(("structure", self.site.say.structure.removesuffix("s"))))]
        if names.rod:
            params.append("rod RX")
        if names.bar:
            params.append("bar KX")
        params.append(f"leads {' '.join(letters)}")
        body = _deep(put_on(self.site, form, names), deep)
        self.routines.append(
            [
                row(ROUTINE, "routine", "routine {ident} ({params})", ident=title, params=", ".join(params)),
                *(replace(one, sort=BODY) for one in body),
            ]
        )

    def _do(self, title: str, names: Names) -> Row:
        given = ", ".join(part for part in (names.structure, names.rod, names.bar, " ".join(names.leads)) if part)
        return step(
            "do",
            "{word} {ident} ({given})",
            word="do",
            ident=title,
            given=given,
            at=names.structure,
            kind="full" if title == "ground" else "near",
        )

    # ---- the whole
    def build(self) -> Draft:
        rng, this = self.rng, self.site
        dated = date(2026, 1, 5) + timedelta(days=rng.randint(0, 300))
        people = crew(this)
        feeds = sources(this)
        around = surroundings(this)
        early_tests, early_inspection = rng.random() < 0.3, rng.random() < 0.4
        forms = {"full": shape(this, "full", tested=early_tests, inspected=early_inspection)}
        if this.dual:
            kind = (
                rng.choice(("personal", "personal", "one"))
                if not this.bucket
                else rng.choice(("joined", "joined", "personal", "none"))
            )
            if this.small and kind == "joined":
                kind = "personal"
            forms["near"] = shape(this, kind, tested=early_tests, inspected=early_inspection)
        through_routines = rng.random() < 0.5
        deep = this.length(6, 2)
        rows, gear = self._steps(forms, through_routines, early_tests, early_inspection)
        tools = equipment(this, dated, self.rods, self.bars, self.leads)
        deep = next((one["length"] for one in tools if one.verb == "rod"), deep)
        rows = _deep(rows, deep)
        routines = [_deep(routine, deep) for routine in self.routines]
        del gear
        blocks = [line(this), feeds, around, tools, people]
        if rng.random() < 0.25:
            blocks = [line(this), around, feeds, people, tools]
        declared = [
            *headers(this, dated),
            *(one for block in blocks for one in block),
            *(one for routine in routines for one in routine),
        ]
        self._open_value(declared)
        numbered = rng.random() < 0.9
        layout = Layout(
            number=rng.choice(("{}. ", "{}) ", "{:>2}. ")) if numbered else "",
            capital=rng.random() < 0.2,
            indent=rng.choice((0, 2, 2, 4)),
            keyword=rng.choice((0, 9, 10)),
            comments=rng.randint(1, 10**6) if rng.random() < 0.4 else 0,
            wrap=rng.random() < 0.15,
        )
        self.about |= {
            "numbered": numbered,
            "dual": this.dual,
            "small": this.small,
            "material": this.material,
            "neutral": this.earthing or "none",
            "access": "bucket" if this.bucket else "steel" if this.material == "steel" else "pole",
            "shield": bool(this.shield),
            "sources": len(this.sources),
            "structures": len(this.structures),
            "works": len(this.works),
            "works_at": tuple(this.works),
            "crew": len(this.people),
            "routines": through_routines,
            "earth": this.say.earth,
            "metric": this.metric,
            "phases": " ".join(this.phases),
            "electrode": forms["full"].electrode,
            "start": forms["full"].start,
            "topology": forms["full"].topology,
            "near": forms["near"].kind if this.dual else "",
            "near topology": forms["near"].topology if this.dual else "",
            "site": this,
        }
        return Draft((*declared, *rows), layout, self.about)

    def _open_value(self, declared: list[Row]) -> None:
        """Sometimes the soil is left open, with a default, so that the plan serves many sites."""
        if self.rng.random() < 0.12:
            at = next(place for place, one in enumerate(declared) if one.verb == "soil")
            amount = declared[at]["amount"]
            declared[at] = declared[at].with_(amount="given soil-here")
            declared.insert(
                3, row("head", "given", "given {name} as resistivity default {amount}", name="soil-here", amount=amount)
            )

    def _steps(
        self, forms: dict[str, Shape], through_routines: bool, early_tests: bool, early_inspection: bool
    ) -> tuple[list[Row], None]:
        rng, this = self.rng, self.site
        route = this.structures
        full = forms["full"]
        ends = [at for at in (this.left, this.right) if at is not None]
        rng.shuffle(ends)
        brackets = [(route[at], full, "ground", self._names(full, route[at])) for at in ends]
        near = forms.get("near", full)
        title = "personal" if this.dual else "ground"
        sites = [(route[at], near, title, self._names(near, route[at])) for at in this.works]
        if through_routines:
            self._routine(full, "ground", "?")
            if this.dual and near.kind != "none":
                self._routine(near, "personal", "?")

        def on(entry: tuple[str, Shape, str, Names]) -> list[Row]:
            _at, form, name, names = entry
            if form.kind == "none":
                return []
            return [self._do(name, names)] if through_routines else put_on(this, form, names)

        undoing = rng.random() < 0.7

        def off(entry: tuple[str, Shape, str, Names]) -> list[Row]:
            _at, form, name, names = entry
            if form.kind == "none":
                return []
            if through_routines and undoing:
                tail = cleared(form, names)
                return [
                    step(
                        "undo",
                        "undo {ident} at {at}",
                        ident=name,
                        at=names.structure,
                        kind="full" if name == "ground" else "near",
                    ),
                    *tail,
                ]
            built = (
                self._filled(name, names)
                if through_routines
                else [one for one in done[names.structure] if one.verb == "attach"]
            )
            return take_off(this, form, names, built)

        done: dict[str, list[Row]] = {}
        seats = {names.structure: self._seat(at) for at, _form, _title, names in sites}
        sets = {entry[3].structure: on(entry) for entry in (*brackets, *sites)}
        done |= sets
        tests_of = [(at, form) for at, form, _title, _names in (*brackets, *sites)]
        rows = [*self._isolate(), *(self._early(tests_of, early_tests, early_inspection))]
        one_by_one = not this.dual and len(sites) > 1 and rng.random() < 0.5
        if one_by_one:
            for entry in sites:
                structure = entry[0]
                rows += [
                    _stage(f"ground {structure}"),
                    *sets[structure],
                    *self._work(entry, seats[structure]),
                    *off(entry),
                ]
            rows.append(_stage("release"))
        else:
            rows.append(_stage(rng.choice(("ground", "earth", "ground the line"))))
            for entry in (*brackets, *sites):
                rows += sets[entry[0]]
            rows.append(_stage("work"))
            for entry in sites:
                rows += self._work(entry, seats[entry[0]])
            rows.append(_stage("remove"))
            back = list(reversed(brackets)) if rng.random() < 0.5 else brackets
            for entry in (*(reversed(sites) if rng.random() < 0.5 else sites), *back):
                rows += off(entry)
        rows += self._release()
        return rows, None

    def _filled(self, title: str, names: Names) -> list[Row]:
        """The attach steps that a routine does, with names in place of its parameters."""
        routine = next(one for one in self.routines if one[0]["ident"] == title)
        letters = next(part for part in routine[0]["params"].split(", ") if part.startswith("leads")).split()[1:]
        table = {"S": names.structure, "RX": names.rod, "KX": names.bar, **dict(zip(letters, names.leads, strict=True))}

        def fill(text: str) -> str:
            return " ".join(table.get(word, word) for word in text.split(" "))

        found = []
        for one in routine[1:]:
            if one.verb == "attach":
                parts = {key: fill(one[key]) for key in ("lead", "first", "second", "at") if key in one.parts}
                found.append(replace(one.with_(**parts), sort=STEP))
        return found

    # ---- stages
    def _isolate(self) -> list[Row]:
        rng, this = self.rng, self.site
        say = this.say
        rows: list[Row] = [_stage(rng.choice(("isolate", '"isolate and tag"')))]
        everyone = [name for name, _role in this.people]
        brief = step("brief", "brief {names}", names="all" if rng.random() < 0.4 else " ".join(everyone))
        self.brief = brief
        self.briefed = rng.choice(("first", "opened"))
        if self.briefed == "first":
            rows.append(brief)
        if rng.random() < 0.5:
            rows.append(
                step(
                    "request",
                    "{word} {line}requested{by}",
                    word=say.clearance,
                    line=f"{this.line} ",
                    by=f" {say.by} {this.holder}",
                )
            )
        apart = 0 not in (this.left, this.right, *this.works) and not this.bucket
        if apart and rng.random() < 0.2:  # whoever works the handle wears gloves for it
            who, at = everyone[0], this.structures[0]
            rows.append(step("gloves", "gloves {state} {names}", state="on", names=who, for_="handle"))
            rows.append(
                step(
                    "enter",
                    "enter {names} at {at} on the {ground}, reaching SW01 handle",
                    names=who,
                    at=at,
                    ground=say.ground,
                    who="handle",
                )
            )
            opened = [*this.opened, step("leave", "leave {names}", names=who, who="handle")]
            if self.briefed != "first":
                rows.insert(1, brief)
        else:
            opened = this.opened
        rows += opened
        if this.live and (this.covers or rng.random() < 0.6):
            rows.append(step("cover", "cover U1 with LH1"))
        for holder in filter(None, (this.holder, this.second_holder)):
            rows.append(
                step(
                    "receive",
                    "{word} {line}received{by}",
                    word=say.clearance,
                    line=f"{this.line} " if rng.random() < 0.7 else "",
                    by=f" {say.by} {holder}",
                )
            )
        if self.briefed == "opened":
            rows.append(brief)
        if this.bank:
            noun = rng.choice(("capacitor", "capacitor bank"))
            pause = rng.choice(("5 min", "6 min", "10 min", "300 s"))
            short = rng.choice(("discharge", "short-circuit"))
            rows += [
                step("disconnect", "disconnect {noun} {name}", noun=noun, name=this.bank),
                step("wait", "wait {time}", time=pause),
                step("discharge", "{word} {name} {by} H1", word=short, name=this.bank, by=this.say.by),
            ]
        return rows

    def _early(self, structures: list[tuple[str, Shape]], tested: bool, inspected: bool) -> list[Row]:
        rng, this = self.rng, self.site
        rows: list[Row] = []
        if inspected:
            names = ranged(self.leads) if rng.random() < 0.6 else " ".join(self.leads)
            rows.append(step("inspect", "inspect {names}", names=names))
            if rng.random() < 0.3:
                rows.append(step("inspect", "inspect {names}", names="H1 D1"))
        if rng.random() < 0.15:
            rows.append(step("note", 'note "radio check with the operator"'))
        if tested:
            rows += proven(
                this,
                [
                    one
                    for at, form in structures
                    for one in tests(this, at, tested_conductors(this, form), apart=form.tests_neutral)
                ],
            )
        return rows

    def _seat(self, structure: str) -> dict[str, Any]:
        """What a worksite takes beside its set: the vehicle's bond, a guy's bond, a lead for a cut."""
        rng, this = self.rng, self.site
        seat: dict[str, Any] = {"at": structure}
        if this.bucket:
            seat["vehicle"] = rng.choice(("rod", "bar", "barricade"))
            if seat["vehicle"] == "rod":
                seat["rod"] = f"R{len(self.rods) + 1}"
                self.rods.append(seat["rod"])
            if seat["vehicle"] != "barricade":
                seat["bond"] = self._leads(1)[0]
        if this.guyed and rng.random() < 0.5:
            seat["guy"] = self._leads(1)[0]
        if rng.random() < 0.12:
            seat["cut"] = self._leads(1)[0]
        return seat

    def _work(self, entry: tuple[str, Shape, str, Names], seat: dict[str, Any]) -> list[Row]:
        rng, this = self.rng, self.site
        say = this.say
        at, form, _title, names = entry
        before: list[Row] = []
        after: list[Row] = []
        if seat.get("vehicle") == "bar" and not names.bar:
            seat["vehicle"] = "barricade"
        if seat.get("vehicle") == "rod":
            before.append(
                step(
                    "set",
                    "{word} {names} at {at}, {far} from the {noun}, {deep} deep",
                    word=say.set,
                    names=seat["rod"],
                    at=at,
                    far=this.length(20, 6),
                    noun="tower" if this.material == "steel" else "pole",
                    deep="?",
                )
            )
            before.append(step("bond", "bond {what} to {to} with {lead}", what="V1", to=seat["rod"], lead=seat["bond"]))
            before.append(
                step("barricade", "barricade {names}{far}", names=f"{seat['rod']}", far=f", {this.length(10, 3)}")
            )
            after.append(step("unbond", "unbond {what}", what="V1"))
        elif seat.get("vehicle") == "bar":
            before.append(step("bond", "bond {what} to {to} with {lead}", what="V1", to=names.bar, lead=seat["bond"]))
            after.append(step("unbond", "unbond {what}", what="V1"))
        elif seat.get("vehicle") == "barricade":
            before.append(step("barricade", "barricade {names}{far}", names="V1", far=f", {this.length(10, 3)}"))
            after.append(step("unbarricade", "unbarricade {names}", names="V1"))
        if "guy" in seat and names.bar:
            before.append(
                step("bond", "bond {what} to {to} with {lead}", what=f"{at} guy", to=names.bar, lead=seat["guy"])
            )
            after.append(step("unbond", "unbond {what}", what=f"{at} guy"))
        if "cut" in seat:
            phase = form.order[0]
            before.append(step("clean", "clean {at} {points}", at=at, points=phase))
            before.append(
                step(
                    "bond_across",
                    "bond across {at} {phase} with {lead} {by} H1",
                    at=at,
                    phase=phase,
                    lead=seat["cut"],
                    by=say.by,
                )
            )
            after.append(step("unbond", "unbond {what} {by} H1", what=f"{at} {phase}", by=say.by))
        used = [seat[what] for what in ("bond", "guy", "cut") if what in seat]
        rows: list[Row] = [step("inspect", "inspect {names}", names=" ".join(used))] if used else []
        rows += before
        if not self.held:
            rows.append(step("hold", '{word} "{text}"', word=say.hold, text="the foreman has looked over the grounds"))
            self.held = True
        if form.kind == "full" and rng.random() < 0.25:
            rows.append(step("certify", "certify {what} at {at}", what="grounds", at=at))
        if rng.random() < 0.08 and form.kind != "none" and not this.live:  # nothing is pulled past a bare live part
            rows.append(step("string", "string {at} {phase}", at=at, phase=form.order[0]))
        climbers = [name for name, role in this.people if role in (say.lineman, "apprentice")]
        climbers = climbers[: rng.randint(1, 2)] or [this.people[0][0]]
        reach = self._reach(form, at, "guy" in seat and bool(names.bar))
        stand = (
            "in V1"
            if this.bucket
            else "on steel"
            if this.material == "steel" and rng.random() < 0.5
            else f"on the {rng.choice(('pole', 'structure'))}"
        )
        gloved = rng.random() < 0.2
        if gloved:
            rows.append(step("gloves", "gloves {state} {names}", state="on", names=" ".join(climbers)))
        rows.append(
            step(
                "enter",
                "enter {names} at {at} {stand}, reaching {reach}",
                names=" ".join(climbers),
                at=at,
                stand=stand,
                reach=" ".join(reach),
            )
        )
        ground_crew = [name for name, role in this.people if role.startswith("ground")]
        if ground_crew and rng.random() < 0.4:
            if this.material == "steel":
                rows.append(step("barricade", "barricade {names}{far}", names=at, far=f", {this.length(20, 6)}"))
            rows.append(
                step(
                    "enter",
                    "enter {names} at {at} {stand}, reaching nothing",
                    names=ground_crew[0],
                    at=at,
                    stand=f"on the {say.ground}",
                    who="ground",
                )
            )
        else:
            ground_crew = []
        if gloved:
            rows.append(step("gloves", "gloves {state} {names}", state="off", names=" ".join(climbers)))
        if rng.random() < 0.1:
            rows.append(step("replan", 'replan "{text}"', text="the arm is split; it is changed as well"))
            rows.append(step("brief", "brief all", names="all", when="again"))
        rows.append(
            step(
                "work",
                'work "{text}"{by}{at_}',
                text=rng.choice(("change out crossarm", "replace insulators", "renew dead-end")),
                by=f" {say.by} {climbers[0]}" if rng.random() < 0.2 else "",
                at_=f" at {at}" if rng.random() < 0.2 else "",
            )
        )
        if "cut" in seat:
            rows.append(step("cut", "cut {at} {phase}", at=at, phase=form.order[0]))
            rows.append(step("join", "{word} {at} {phase}", word=say.join, at=at, phase=form.order[0]))
        if rng.random() < 0.15:
            fewer = [reach[0], *(["the pole"] if "the pole" in reach else [])]
            rows.append(
                step(
                    "move",
                    "move {names} at {at} {stand}, reaching {reach}",
                    names=climbers[0],
                    at=at,
                    stand=stand,
                    reach=" ".join(fewer),
                )
            )
        if rng.random() < 0.1:
            rows.append(step("wait", "wait {time}", time="10 min"))
        rows.append(
            step("leave", "leave {names}", names=" ".join(climbers + ground_crew) if rng.random() < 0.7 else "all")
        )
        rows += list(reversed(after))
        if rng.random() < 0.12 and names.leads and form.kind != "none":
            rows += self._lifted(form, names)
        return rows

    def _lifted(self, form: Shape, names: Names) -> list[Row]:
        """The last phase's lead off for a test, and back."""
        built = put_on(self.site, form, names)
        last = next(
            (one for one in reversed(built) if one.verb == "attach" and one["role"] == "phase" and one["second"]), None
        )
        if last is None:
            return []
        common = {"lead": last["lead"], "point": last["second"], "how": f" {self.site.say.by} H1"}
        return [
            step(
                "lift",
                "lift {lead} from {point}{how}{protected} for {purpose}",
                **common,
                protected=', protected by "nobody up while it is off"',
                purpose='"insulation test"',
            ),
            step("restore", "restore {lead} to {point}{how}", **common),
        ]

    def _reach(self, form: Shape, structure: str, guy: bool) -> list[str]:
        rng, this = self.rng, self.site
        if form.kind in ("one", "none"):
            reach = [form.order[0]]
        else:
            reach = list(this.phases)
            if this.neutral and rng.random() < 0.6:
                reach = [this.neutral, *reach] if rng.random() < 0.5 else [*reach, this.neutral]
            if this.shield and form.shield and rng.random() < 0.5:
                reach.append(this.shield)
        if not this.bucket:
            steel = this.material == "steel"
            if steel or rng.random() < 0.8:
                reach.append("and the steel" if steel else rng.choice(("the pole", "and the pole")))
            if guy:
                reach.append("the guy")
        return reach

    def _release(self) -> list[Row]:
        rng, this = self.rng, self.site
        word, line_name = this.say.clearance, f"{this.line} "
        holders = [holder for holder in (this.second_holder, this.holder) if holder]
        others = [name for name, role in this.people if name not in holders and role in ("foreman", this.say.lineman)]
        rows = []
        if others and rng.random() < 0.2:  # one of them goes off shift and another gives the clearance back
            gone, holders[-1] = holders[-1], rng.choice(others)
            rows.append(
                step(
                    "transfer",
                    "{word} {line}transferred{by}{to}, {operator}, {crew}",
                    word=word,
                    line=line_name,
                    by=f" {this.say.by} {gone}",
                    to=f" to {holders[-1]}",
                    operator=rng.choice(("operator told", "system operator told")),
                    crew="crew told",
                )
            )
        rows += [
            step("release", "{word} {line}released{by}", word=word, line=line_name, by=f" {this.say.by} {holder}")
            for holder in holders
        ]
        if rng.random() < 0.35:
            untags = [one for one in this.closing if one.verb == "untag"]
            rows += untags
            if rng.random() < 0.7:
                rows += [one for one in this.closing if one.verb != "untag"]
        return rows


def _stage(name: str) -> Row:
    return row(STAGE, "stage", "stage {name}", name=name)


def _deep(rows: list[Row], deep: str) -> list[Row]:
    """Rods are driven to the length that they are declared with."""
    return [one.with_(deep=deep) if one.verb == "set" and one["deep"] == "?" else one for one in rows]
