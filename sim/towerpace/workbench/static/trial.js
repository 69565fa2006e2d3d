// One trial as it was played: who works where at any minute, and why others stand still.

const DAY_MIN = 1440;
const SET_ONE = "lift";
const MOVE = "crane move";

/** Steps from their columns; words stand once, in `names`. */
function stepsOf({ steps, names }) {
  const { columns } = steps;
  const word = (index) => (index === null || index === undefined ? null : names[index]);
  return columns.start.map((start, k) => ({
    kind: word(columns.kind[k]), trade: word(columns.trade[k]), zone: word(columns.zone[k]), level: columns.level[k],
    unit: word(columns.unit[k]), cause: word(columns.cause[k]), start, end: columns.end[k],
    ready: columns.ready?.[k] ?? null, panel: columns.panel?.[k] ?? null, number: k,
  }));
}

/** A crane that has moved in serves what follows on that work area: the steps in between name no unit of their own. */
function keptBy(steps) {
  const there = new Map();
  for (const step of [...steps].sort((a, b) => a.start - b.start || a.number - b.number)) {
    const place = `${step.trade} ${step.level} ${step.zone}`;
    if (step.kind === MOVE && step.unit) there.set(place, step.unit);
    else if ((step.kind === MOVE || step.kind === SET_ONE) && !step.unit) step.unit = there.get(place) ?? null;
  }
  return steps;
}

export class Trial {
  constructor(tower, told) {
    this.tower = tower;
    this.told = told;
    this.steps = keptBy(stepsOf(told));
    this.begin = told.start ?? 0;
    this.finish = told.end ?? Math.max(...this.steps.map((step) => step.end));
    this.fronts = this.byFront();
    this.units = this.byUnit();
    this.panelTrades = new Set(this.steps.filter((step) => step.kind === SET_ONE).map((step) => step.trade));
  }

  /** For each level and zone: ends of the steps of each trade, and of the panels set there. */
  byFront() {
    const fronts = new Map();
    for (const level of this.tower.levels) for (const zone of this.tower.zones) fronts.set(`${level} ${zone}`, { level, zone, trades: new Map(), panels: new Map() });
    for (const step of this.steps) {
      const front = fronts.get(`${step.level} ${step.zone}`);
      if (!front) continue;
      const lasts = front.trades.get(step.trade) ?? { begun: Infinity, done: 0 };
      front.trades.set(step.trade, { begun: Math.min(lasts.begun, step.start), done: Math.max(lasts.done, step.end) });
      if (step.kind === SET_ONE) setOnce(front, step);
    }
    for (const front of fronts.values()) front.panels = [...front.panels.values()].sort((a, b) => a - b);
    return fronts;
  }

  byUnit() {
    const units = new Map((this.told.cranes ?? []).map((name) => [name, []]));
    for (const step of this.steps) {
      if (!step.unit) continue;
      if (!units.has(step.unit)) units.set(step.unit, []);
      units.get(step.unit).push(step);
    }
    for (const steps of units.values()) steps.sort((a, b) => a.start - b.start);
    return units;
  }

  /** Whether a level's step of this kind has ended. */
  levelsDone(kind, minute) {
    return new Set(this.steps.filter((step) => step.kind === kind && step.end <= minute).map((step) => step.level));
  }

  /** What stands at a minute: {day, hour, levels, fronts, units, trades, trucks, gust, panels}. */
  at(minute) {
    const working = this.steps.filter((step) => step.start <= minute && minute < step.end);
    const fronts = [...this.fronts.values()].map((front) => this.frontAt(front, minute));
    return {
      minute, working, fronts, zones: this.tower.zones,
      day: Math.floor(minute / DAY_MIN), hour: Math.floor((minute % DAY_MIN) / 60),
      handedOver: this.levelsDone("handover", minute), closedIn: this.levelsDone("closing-in", minute),
      units: [...this.units].map(([name, steps]) => unitAt(name, steps, minute)),
      trucks: this.trucksAt(minute),
      set: fronts.reduce((sum, front) => sum + front.set, 0), panels: fronts.reduce((sum, front) => sum + front.panels, 0),
    };
  }

  frontAt({ level, zone, trades, panels }, minute) {
    const order = this.tower.trades.map((trade) => trade.name);
    const first = order.findIndex((name) => this.panelTrades.has(name));
    const done = (name) => trades.has(name) && trades.get(name).done <= minute;
    const behind = order.slice(first + 1).filter((name) => trades.has(name));
    return {
      level, zone, panels: panels.length, set: countUpTo(panels, minute),
      before: order.slice(0, Math.max(first, 0)).every(done),
      behind: behind.length ? behind.filter(done).length / behind.length : 0,
    };
  }

  /** Trucks on site: {waiting, unloading}. */
  trucksAt(minute) {
    const came = this.steps.filter((step) => step.kind === "truck" && step.end <= minute).length;
    const unloads = this.steps.filter((step) => step.kind === "unloading" && step.start <= minute);
    return { waiting: Math.max(0, came - unloads.length), unloading: unloads.filter((step) => step.end > minute).length };
  }

  /** Gust of the hour [m/s]; null where none is told. */
  gust(minute) {
    const { first_minute: first = 0, gusts = [] } = this.told.wind ?? {};
    return gusts[Math.floor((minute - first) / 60)] ?? null;
  }
}

/** A panel that is lost later and set again counts from its first setting. */
function setOnce({ panels }, { panel, number, end }) {
  const which = panel ?? `step ${number}`;
  panels.set(which, Math.min(panels.get(which) ?? Infinity, end));
}

function countUpTo(sorted, minute) {
  let [low, high] = [0, sorted.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle] <= minute) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** What a unit does: {name, step, last, next}. */
function unitAt(name, steps, minute) {
  const somewhere = (step) => step.level !== null;
  const after = steps.findIndex((step) => step.start > minute);
  const begun = after < 0 ? steps : steps.slice(0, after);
  return {
    name,
    step: begun.findLast((step) => step.end > minute) ?? null,
    last: begun.findLast(somewhere) ?? null,
    next: after < 0 ? null : steps.slice(after).find(somewhere) ?? null,
  };
}
