"""A rule in this room: what the rulebook says, and what the spec changes about it."""

from __future__ import annotations

from collections.abc import Mapping

from geometry.records import record
from scenes.room.provenance import Given
from scenes.room.scene import RuleChange, Scene
from scenes.rulebook import Basis, Rule, Sureness, rules


@record(frozen=True, slots=True)
class AppliedRule:
    """A rule with the spec's change to it.

    `required` is None where the rule's value is none single number and the spec gives none in its place;
    `also` are the rules that the same measure decides.
    """

    rule: Rule
    change: RuleChange | None
    required: Given[float] | None
    also: tuple[AppliedRule, ...] = ()

    @property
    def off(self) -> bool:
        """Whether the spec switches it off."""
        return self.change is not None and self.change.off

    @property
    def own_m(self) -> float | None:
        """The value the spec gives in the rule's place; None where it gives none."""
        return None if self.required is None or not self.required.own else self.required.value

    @property
    def required_m(self) -> float:
        """The value it asks for. ValueError where that is no single number."""
        if self.required is None:
            raise ValueError(f"rule {self.rule.id} asks for no single value")
        return self.required.value

    @property
    def lacks(self) -> str | None:
        """The code whose value is not known in this room's set of codes, and that nothing stands in for."""
        return None if self.own_m is not None else self.rule.lacks

    @property
    def in_force(self) -> bool:
        """Whether a search keeps to it: not switched off, and one that binds or whose value is the designer's."""
        return not self.off and (self.rule.binds_search or self.own_m is not None)

    def basis(self, required: Given[float] | None) -> Basis:
        """What this required value rests on: the designer's own, or what the rule does."""
        return "own" if required is not None and required.own else self.rule.basis

    def sureness(self, required: Given[float] | None) -> Sureness:
        """How sure this required value is."""
        return "own" if required is not None and required.own else self.rule.sureness


def applied_rules(scene: Scene) -> Mapping[str, AppliedRule]:
    """Every rule as it is in this room, by id, in the order of the file; one that shares a measure is in `also` too."""
    changes = {change.rule: change for change in scene.rule_changes}
    alone = {id: _applied(rule, changes.get(id), scene) for id, rule in rules(scene.code.value).items()}
    sharing: dict[str, tuple[AppliedRule, ...]] = {}
    for one in alone.values():
        if one.rule.shares is not None:
            sharing[one.rule.shares] = (*sharing.get(one.rule.shares, ()), one)
    return {
        id: AppliedRule(one.rule, one.change, one.required, sharing[id]) if id in sharing else one
        for id, one in alone.items()
    }


def kept_from_walls_m(scene: Scene) -> float:
    """How far a body stays from the room's walls by the rules in force, metres; 0 where none asks for more."""
    asked = [
        one.required_m
        for one in applied_rules(scene).values()
        if "wall" in one.rule.applies_to and one.in_force
    ]
    return max(asked, default=0.0)


def _applied(rule: Rule, change: RuleChange | None, scene: Scene) -> AppliedRule:
    required: Given[float] | None = None
    if change is not None and change.value_m is not None:
        required = Given(change.value_m)
    elif rule.limit is not None:
        required = getattr(scene.limits, rule.limit)
    elif "required" in rule.values:
        required = Given(rule.values["required"], "default")
    return AppliedRule(rule, change, required)
