"""Steps, in the order of the text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from groundlint.language.nodes import NOWHERE, Amount, Name, Point, Text, Word
from groundlint.language.statements.base import Away, Names, Part, Statement, doc, flag, need, row, statement
from groundlint.text import Span


class Step(Statement):
    """Something done, in the order of the text."""

    group = "steps"


@dataclass(frozen=True)
class End(Part):
    """One end of a lead: the point, and by which stick or by hand; neither said is not known."""

    span: ClassVar[Span] = NOWHERE
    """The place of all its words but the first, ``to`` or ``from``."""

    point: Point
    by: Name | None = None
    by_hand: bool = False

    def placed(self, span: Span) -> End:
        """The same end, with its place."""
        object.__setattr__(self, "span", span)
        return self


@statement
class Brief(Step):
    """Those named have had the job briefing."""

    kind: Literal["brief"] = "brief"
    people: Names = row("people")
    all: bool = flag("`brief all`")


@statement
class Open(Step):
    """Open points are opened, and locked and tagged where the step says `lock it and tag it`.

    Where the tag is left off for a crew alone on the line, the step says why it may be: the open point is `in sight`
    and `within reach` of the employee in charge, `under sole control of` that person, and there is `one crew`.
    """

    kind: Literal["open"] = "open"
    names: Names = need("switches")
    lock_it: bool = flag("made inoperable, as by a lock, in the same step")
    tag_it: bool = flag("tagged in the same step")
    seen: bool = flag("`gap seen`: the gap was seen to be open")
    in_sight: bool = flag("`in sight` of the employee in charge, from the work")
    in_reach: bool = flag("`within reach`: the employee in charge can get to it")
    one_crew: bool = flag("`one crew` is on the line, and no other")
    sole: Name | None = doc("the one person under whose control it is, `under sole control of`")
    by: Name | None = doc("who")


@statement
class Close(Step):
    """Open points are closed, which can energize."""

    kind: Literal["close"] = "close"
    names: Names = need("switches")
    by: Name | None = doc("who: a person, or another crew")


@statement
class Tag(Step):
    """Open points are tagged."""

    kind: Literal["tag"] = "tag"
    names: Names = need("switches")


@statement
class Lock(Step):
    """Open points are made inoperable, as by a lock."""

    kind: Literal["lock"] = "lock"
    names: Names = need("switches")


@statement
class Untag(Step):
    """Tags come off, and locks with them."""

    kind: Literal["untag"] = "untag"
    names: Names = need("switches")


@statement
class Verify(Step):
    """Open points are verified to be open, by eye or by test."""

    kind: Literal["verify"] = "verify"
    names: Names = need("switches")


@statement
class Block(Step):
    """Reclosing is blocked on sources, breakers or live neighbours."""

    kind: Literal["block"] = "block"
    names: Names = need("sources, breakers or live neighbours")


@statement
class Unblock(Step):
    """Reclosing is put back."""

    kind: Literal["unblock"] = "unblock"
    names: Names = need("sources, breakers or live neighbours")


@statement
class Disable(Step):
    """The remote and automatic control of open points is disabled, at each point from which they are controlled; tagged
    there too where the step says `tag it`."""

    kind: Literal["disable"] = "disable"
    names: Names = need("switches")
    tag_it: bool = flag("tagged at each point of control in the same step")


@statement
class TagControl(Step):
    """The remote and automatic control of open points is tagged, at each point from which they are controlled."""

    kind: Literal["tag_control"] = "tag_control"
    names: Names = need("switches")


@statement
class Enable(Step):
    """The remote and automatic control of open points is put back, and the tags there come off."""

    kind: Literal["enable"] = "enable"
    names: Names = need("switches")


@statement
class Clearance(Step):
    """The clearance (permit) is requested, received or released, or passes from who holds it to another."""

    kind: Literal["clearance"] = "clearance"
    name: Name | None = doc("the line")
    state: Word = need("requested, received, released, transferred")
    by: Name | None = doc("the person or crew that holds it")
    to: Name | None = doc("the person or crew that takes over a clearance that is transferred")
    operator_told: bool = flag("of a clearance that is transferred: the system operator is told")
    crew_told: bool = flag("of a clearance that is transferred: the crew is told")


@statement
class Inspect(Step):
    """Equipment is looked over before use."""

    kind: Literal["inspect"] = "inspect"
    names: Names = need("equipment")


@statement
class Prove(Step):
    """A detector is proven, on a tester or on a part known to be live."""

    kind: Literal["prove"] = "prove"
    name: Name = need("detector")
    on: Name | None = doc("tester")
    on_live: Point | None = doc("live part")


@statement
class Test(Step):
    """Points are tested for voltage; the step is passed only if they are found dead, unless it says `finding live`."""

    kind: Literal["test"] = "test"
    points: tuple[Word, ...] = need("points: a structure and its conductors")
    with_: Name | None = doc("detector", clause="with")
    improvised: bool = flag("without a detector: by ear, with pliers, by a touch; proves nothing")
    on_stick: Name | None = doc("stick")
    by_hand: bool = flag("by hand")
    result: Word | None = doc("dead or live")


@statement
class Clean(Step):
    """Points are brushed to bright metal; good until the clamp goes on."""

    kind: Literal["clean"] = "clean"
    points: tuple[Word, ...] = need("points")


@statement
class Set(Step):
    """Ground rods are driven, at a structure, at a distance from it and from other rods, to a depth."""

    kind: Literal["set"] = "set"
    names: Names = need("rods")
    at: Name | None = doc("structure")
    from_pole: Amount | None = doc("distance from the structure", dimension="length")
    from_rod: tuple[Away, ...] = doc("distance from each rod named", clause="from_rod", many=True)
    deep: Amount | None = doc("depth in contact with the soil", dimension="length")


@statement
class Barricade(Step):
    """People are kept away from rods, vehicles or structures."""

    kind: Literal["barricade"] = "barricade"
    names: Names = need("what is barricaded")
    distance: Amount | None = doc("how far off", dimension="length")


@statement
class Unbarricade(Step):
    """Barricades come down."""

    kind: Literal["unbarricade"] = "unbarricade"
    names: Names = need("what was barricaded")


@statement
class Mount(Step):
    """A cluster bar is put on a structure, at a height relative to feet, work or a conductor."""

    kind: Literal["mount"] = "mount"
    name: Name = need("bar")
    at: Name | None = doc("structure")
    height: Word | None = doc("below or above, the feet or a conductor")
    height_of: Name | None = doc("conductor that the height is relative to")


@statement
class Dismount(Step):
    """Cluster bars come off."""

    kind: Literal["dismount"] = "dismount"
    names: Names = need("bars")


@statement
class Attach(Step):
    """A lead's ends go on, one after the other; the first to go on is where the lead begins. Between two conductors of
    the line a stick that is named once is used for both ends."""

    kind: Literal["attach"] = "attach"
    name: Name = need("lead")
    ends: tuple[End, ...] = need("the point, or the two points, in order", clause="end", many=True)


@statement
class Detach(Step):
    """A lead's ends come off, one after the other. Between two conductors of the line a stick that is named once is
    used for both ends."""

    kind: Literal["detach"] = "detach"
    name: Name = need("lead")
    ends: tuple[End, ...] = need("the point, or the two points, in order", clause="off", many=True)


@statement
class Bond(Step):
    """A vehicle, mat, guy or other metal is joined to a bar, a rod or a point; the end named first goes on first."""

    kind: Literal["bond"] = "bond"
    first: Point = need("what is bonded")
    second: Point = need("what it is bonded to")
    with_: Name | None = doc("lead", clause="with")
    on_stick: Name | None = doc("stick")
    by_hand: bool = flag("by hand")


@statement
class BondAcross(Step):
    """A lead bridges an opening in a conductor, so that its two sides stay one."""

    kind: Literal["bond_across"] = "bond_across"
    point: Point = need("the conductor at the structure where it is or will be open")
    with_: Name | None = doc("lead", clause="with")
    on_stick: Name | None = doc("stick")
    by_hand: bool = flag("by hand")


@statement
class Unbond(Step):
    """The bond of a thing comes off, at that thing first."""

    kind: Literal["unbond"] = "unbond"
    point: Point = need("what was bonded")
    on_stick: Name | None = doc("stick")
    by_hand: bool = flag("by hand")


@statement
class Enter(Step):
    """People take up a place of work; what they can reach is stated."""

    kind: Literal["enter"] = "enter"
    names: Names = need("people")
    at: Name | None = doc("structure")
    stand: Point | None = doc("what they stand on: the pole, steel, a vehicle, a mat, the ground")
    reaching: tuple[Word, ...] | None = doc("all that is in reach; `reaching nothing` says that nothing is")


@statement
class Move(Step):
    """People in place change where they stand or what they reach."""

    kind: Literal["move"] = "move"
    names: Names = need("people")
    at: Name | None = doc("structure")
    to: Name | None = doc("structure")
    stand: Point | None = doc("what they stand on")
    reaching: tuple[Word, ...] | None = doc("all that is in reach")


@statement
class Leave(Step):
    """People leave their place of work."""

    kind: Literal["leave"] = "leave"
    people: Names = row("people")
    all: bool = flag("`leave all`")


@statement
class Work(Step):
    """The task, for those who are in place."""

    kind: Literal["work"] = "work"
    text: Text = need("the task")
    by: Names = row("who, one or several")
    at: Name | None = doc("structure")
    touching: tuple[Word, ...] | None = doc(
        "what is worked on, or touched at it: it must be in reach of whoever works; conductors without a structure are "
        "those where the worker is"
    )


@statement
class Cut(Step):
    """Conductors are cut or opened at a structure: the line becomes two sides."""

    kind: Literal["cut"] = "cut"
    points: tuple[Word, ...] = need("points")
    stays_open: bool = flag("`to stay open`: it is not joined again in this job")


@statement
class Join(Step):
    """Conductors are joined or spliced at a structure: two sides become one."""

    kind: Literal["join"] = "join"
    points: tuple[Word, ...] = need("points")


@statement
class Lift(Step):
    """A ground is taken off for a test, with what protects the worker meanwhile."""

    kind: Literal["lift"] = "lift"
    name: Name = need("lead")
    point: Point = need("the point that it comes off")
    on_stick: Name | None = doc("stick")
    by_hand: bool = flag("by hand")
    protected: Text | None = doc("what protects the worker meanwhile")
    purpose: Text | None = doc("what for")


@statement
class Restore(Step):
    """A lifted ground is put back."""

    kind: Literal["restore"] = "restore"
    name: Name = need("lead")
    point: Point = need("the point that it goes back on")
    on_stick: Name | None = doc("stick")
    by_hand: bool = flag("by hand")


@statement
class Hold(Step):
    """A stop that the crew may not pass until the condition in words is met."""

    kind: Literal["hold"] = "hold"
    text: Text = need("the condition")


@statement
class Cover(Step):
    """Live neighbours are covered."""

    kind: Literal["cover"] = "cover"
    names: Names = need("neighbours")
    at: Name | None = doc("structure")
    goods: Names = row("the rubber goods or rigid covers that go on")
    by: Name | None = doc("who does it, in rubber gloves, or the stick that it is done by")


@statement
class Uncover(Step):
    """Covers come off."""

    kind: Literal["uncover"] = "uncover"
    names: Names = need("neighbours")
    by: Name | None = doc("who does it, in rubber gloves, or the stick that it is done by")


@statement
class Gloves(Step):
    """Rubber gloves go on or come off."""

    kind: Literal["gloves"] = "gloves"
    state: Word = need("on or off")
    names: Names = need("people")
    goods: Names = row("the gloves that are put on, and sleeves with them")


@statement
class Wait(Step):
    """A wait, such as for capacitors to discharge. After an hour of waits no test and no proof of a detector holds; a
    wait of four hours or more is a pause."""

    kind: Literal["wait"] = "wait"
    amount: Amount = need("time", dimension="time")


@statement
class Do(Step):
    """A routine's steps with its names filled in."""

    kind: Literal["do"] = "do"
    ident: Name = need("routine")
    names: Names = row("what its parameters stand for, in order")


@statement
class Repeat(Step):
    """A routine again, elsewhere."""

    kind: Literal["repeat"] = "repeat"
    ident: Name = need("routine")
    names: Names = row("what its parameters stand for, in order")


@statement
class Undo(Step):
    """A routine's attach and bond steps reversed: the last end to go on is the first to come off, by the same means."""

    kind: Literal["undo"] = "undo"
    ident: Name = need("routine")
    at: Name | None = doc("one of the names that it was done with")


@statement
class Note(Step):
    """Words for the crew; nothing changes."""

    kind: Literal["note"] = "note"
    text: Text = need("the words")


@statement
class Handle(Step):
    """Somebody in place takes a loose conductor in hand: what it touches, that person touches."""

    kind: Literal["handle"] = "handle"
    names: Names = need("loose conductors")
    by: Name | None = doc("who")
    touching: tuple[Word, ...] | None = doc("what it touches; `touching nothing` says that it touches nothing")


@statement
class Stow(Step):
    """Loose conductors are put down or made fast, and in nobody's hand any more."""

    kind: Literal["stow"] = "stow"
    names: Names = need("loose conductors")


@statement
class Downed(Step):
    """Conductors are found broken or down at a structure: two sides from here on, each of which may be live."""

    kind: Literal["downed"] = "downed"
    points: tuple[Word, ...] = need("points")


@statement
class StringIn(Step):
    """New conductors are pulled in at a structure: whatever they touch along the way, they bring there."""

    kind: Literal["string"] = "string"
    points: tuple[Word, ...] = need("points: the structure from which they are handled, and the conductors")


@statement
class Park(Step):
    """Vehicles, tensioners, trailers take their place at a structure."""

    kind: Literal["park"] = "park"
    names: Names = need("vehicles")
    at: Name | None = doc("structure")


@statement
class Certify(Step):
    """Somebody signs that grounds are on, or that the conductors are dead; what was signed must have been done."""

    kind: Literal["certify"] = "certify"
    certified: Word = need("grounds, dead", clause="certified")
    at: Name | None = doc("structure")
    by: Name | None = doc("who signs")


@statement
class Shock(Step):
    """People report a shock, however slight."""

    kind: Literal["shock"] = "shock"
    names: Names = need("people")


@statement
class Replan(Step):
    """The job changes from what the crew was briefed on."""

    kind: Literal["replan"] = "replan"
    text: Text = need("what is different")


@statement
class Disconnect(Step):
    """Capacitors are disconnected from whatever could charge them; what they hold stays in them."""

    kind: Literal["disconnect"] = "disconnect"
    names: Names = need("capacitors")


@statement
class Discharge(Step):
    """Capacitors that were disconnected are short-circuited and grounded."""

    kind: Literal["discharge"] = "discharge"
    names: Names = need("capacitors")
    on_stick: Name | None = doc("stick")
    by_hand: bool = flag("by hand")


@statement
class Spike(Step):
    """A cable is spiked at a vault or terminal: a tool that is worked from a distance goes through its conductors and
    shows that they are dead there."""

    kind: Literal["spike"] = "spike"
    name: Name = need("cable")
    at: Name | None = doc("the vault or terminal")


@statement
class Pull(Step):
    """Ground rods are pulled out of the ground: each is an electrode no more."""

    kind: Literal["pull"] = "pull"
    names: Names = need("rods")


@statement
class Pause(Step):
    """Nobody is there for a while: a night, the weather. After it no test and no proof of a detector holds, no surface
    counts as clean, and open points and grounds must be looked over again."""

    kind: Literal["pause"] = "pause"
    amount: Amount | None = doc("how long", dimension="time")
    spell: Word | None = doc("overnight, for weather")
    purpose: Text | None = doc("what for")


AnyStep = (
    Brief | Open | Close | Tag | Lock | Untag | Verify | Block | Unblock | Disable | TagControl | Enable | Clearance
    | Inspect | Prove | Test | Clean
    | Set | Barricade | Unbarricade
    | Mount | Dismount | Attach | Detach | Bond | BondAcross | Unbond | Enter | Move | Leave | Work | Cut | Join | Lift
    | Restore | Hold | Cover
    | Uncover | Gloves | Wait | Do | Repeat | Undo | Note
    | Handle | Stow
    | Downed | StringIn | Park | Certify | Shock | Replan | Disconnect | Discharge | Spike | Pull | Pause
)  # fmt: skip
