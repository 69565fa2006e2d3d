"""Rules on deliveries, yard, factory and hoist: keys that go together, and what would lock the site."""

from collections.abc import Iterator

from towerpace.scenario.complaints import MISSING, Complaint, Path, shown, unknown_name
from towerpace.scenario.once import happens_once
from towerpace.scenario.raw import Tree, named, number_at, table, text_at

# Keys of a table that say something only together.
_TOGETHER: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("delivery", ("early_chance", "early_h")),
    ("delivery", ("wrong_order_chance", "sort_min")),
    ("hoist", ("extension_levels", "extension_h")),
)
_CALL_OFF = ("levels_ahead", "lead_days")
_AWAY = ("back_days", "turned_away_at_most")


def supply_rules(tree: Tree) -> Iterator[Complaint]:
    """Complaints about how crates come to their level."""
    for name, keys in _TOGETHER:
        yield from _together(table(tree, name), keys, path=(name,))
    hoist = table(tree, "hoist")
    if "empties_ride_min" in hoist and hoist.get("empties") is not True:
        found, allowed = shown(hoist["empties_ride_min"]), "empties_ride_min only with empties = true"
        yield Complaint(("hoist", "empties_ride_min"), found, allowed)
    delivery = table(tree, "delivery")
    if delivery:
        yield from _call_off_rules(delivery)
        yield from _gate_rules(delivery)
        yield from _unloading_rules(tree, delivery)
    yield from _yard_rules(tree)
    yield from _factory_rules(tree)


def _together(entry: Tree, keys: tuple[str, ...], *, path: Path) -> Iterator[Complaint]:
    given = [key for key in keys if key in entry]
    for key in keys if given else ():
        if key not in entry:
            yield Complaint((*path, key), MISSING, f"{key} beside {given[0]}")


def _call_off_rules(delivery: Tree) -> Iterator[Complaint]:
    called = text_at(delivery, "order") == "call-off"
    for key in _CALL_OFF:
        if called and key not in delivery:
            yield Complaint(("delivery", key), MISSING, f'{key} with order = "call-off"')
        if not called and key in delivery:
            allowed = f'{key} only with order = "call-off"'
            yield Complaint(("delivery", key), shown(delivery[key]), allowed)


def _gate_rules(delivery: Tree) -> Iterator[Complaint]:
    """Early trucks, late trucks, and trucks that lose patience."""
    late, early = number_at(delivery, "late_chance"), number_at(delivery, "early_chance")
    if late is not None and early is not None and 0 <= late <= 1 < late + early:
        allowed = f"at most 1 together with late_chance, which is {late:g}"
        yield Complaint(("delivery", "early_chance"), f"{early:g}", allowed)
    if "accept_early" in delivery and "early_chance" not in delivery:
        found = shown(delivery["accept_early"])
        yield Complaint(("delivery", "accept_early"), found, "accept_early only with early_chance")
    leaves, sent = "turn_away_h" in delivery, delivery.get("accept_early") is False
    for key in _AWAY:
        if leaves and key not in delivery:
            yield Complaint(("delivery", key), MISSING, f"{key} beside turn_away_h")
        if key in delivery and not leaves and not (sent and key == "back_days"):
            yield Complaint(("delivery", key), shown(delivery[key]), f"{key} only with turn_away_h")


def _unloading_rules(tree: Tree, delivery: Tree) -> Iterator[Complaint]:
    """Who unloads must not be kept by a front that waits for a truck, nor be served in another order."""
    bay = text_at(delivery, "resource")
    kept = {text_at(tree, "crane", "resource"): "the floor crane"}
    for name, trade in named(tree, "trade"):
        if trade.get("kind") == "panels":
            kept |= dict.fromkeys(table(trade, "needs"), f"trade {shown(name)}")
    for name, method in named(tree, "method"):
        if text_at(method, "kept") != "panel":
            kept |= dict.fromkeys(table(method, "needs"), f"method {shown(name)}")
    for resource in table(delivery, "unload_needs"):
        path: Path = ("delivery", "unload_needs", resource)
        if resource == bay:
            yield Complaint(path, shown(resource), "what is taken beside delivery.resource")
        elif resource in kept:
            allowed = f"not what {kept[resource]} keeps while it waits for crates: the site could lock"
            yield Complaint(path, shown(resource), allowed)
        elif resource in table(tree, "resource") and _order(tree, resource) != _order(tree, bay):
            allowed = f"order {shown(_order(tree, bay))} as {shown(bay)}, with which it is taken"
            yield Complaint(path, f"a resource of order {shown(_order(tree, resource))}", allowed)


def _order(tree: Tree, resource: str | None) -> str:
    return text_at(tree, "resource", resource or "", "order") or "rank"


def _yard_rules(tree: Tree) -> Iterator[Complaint]:
    if "yard" not in tree:
        return
    if "delivery" not in tree:
        yield Complaint(("delivery",), MISSING, "a table [delivery], because [yard] belongs to it")
    slots, load = number_at(tree, "yard", "slots"), number_at(tree, "delivery", "crates_per_truck")
    if slots is not None and load is not None and slots < load:
        allowed = f"at least delivery.crates_per_truck, which is {load:g}: a truck is unloaded in one go"
        yield Complaint(("yard", "slots"), f"{slots:g}", allowed)


def _factory_rules(tree: Tree) -> Iterator[Complaint]:
    factory = table(tree, "factory")
    if not factory:
        return
    if "start" not in factory and "after" not in factory:
        yield Complaint(("factory",), "missing its start", "start or after, or both")
    after, once = text_at(factory, "after"), happens_once(tree)
    if after is not None and after not in once:
        yield unknown_name(("factory", "after"), after, names=once)
    if "stock_waits" in factory and "after" not in factory:
        found, allowed = shown(factory["stock_waits"]), "stock_waits only with after: what it waits for"
        yield Complaint(("factory", "stock_waits"), found, allowed)
