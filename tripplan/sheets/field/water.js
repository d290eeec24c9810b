"use strict";
// What a crossing calls for, read from the tables that the file carries. No rule stands here: levels, points,
// windows and findings come with the data, and so do the rows. Nothing here says that water can be driven.
const Water = (() => {
  const DAY_MS = 86400000;

  const addDays = (day, days) => {
    const [year, month, date] = day.split("-").map(Number);
    return new Date(Date.UTC(year, month - 1, date) + Math.floor(days) * DAY_MS).toISOString().slice(0, 10);
  };

  const isEmpty = (value) => value === null || value === undefined;

  // The rig: heights, lines, grades.
  const heightM = (data, unit, point) => {
    if (!isEmpty(unit.heights_mm[point])) return unit.heights_mm[point] / 1000;
    return data.points.half_tyre.includes(point) && unit.tyre_mm ? unit.tyre_mm / 2000 : null;
  };

  const waveM = (data, unit, point, high) => {
    const where = unit.kind === "vehicle" && data.points.front.includes(point) ? "front" : "elsewhere";
    return data.wave[high ? `${where}_high_m` : `${where}_m`];
  };

  const isUnder = (data, unit, point, depthM, high) => {
    const height = heightM(data, unit, point);
    return height !== null && depthM > 0 && depthM + waveM(data, unit, point, high) >= height;
  };

  // The lowest point of an item counts: the one whose height less its wave is least, then height, then name.
  const isImmersed = (data, item, unit, crossing, high) => {
    if (crossing.depth_m === 0 || !item.points.length) return false;
    const known = item.points.map((point) => [heightM(data, unit, point), point]).filter(([height]) => height !== null)
      .map(([height, point]) => [height - waveM(data, unit, point, high), height, point]);
    if (!known.length) return false;
    known.sort((a, b) => a[0] - b[0] || a[1] - b[1] || (a[2] < b[2] ? -1 : 1));
    return isUnder(data, unit, known[0][2], crossing.depth_m, high);
  };

  const stood = (data, crossing, hubsUnder) => [
    crossing.stalled && "the engine stopped in the water",
    (crossing.minutes || 0) > data.easy.stood_minutes && `more than ${data.easy.stood_minutes} minutes in it`,
    crossing.water === "salt" && hubsUnder && "salt at the hubs",
  ].filter(Boolean);

  const hard = (data, crossing, leaks) => [
    crossing.hubs_hot && "hubs went in hot",
    isEmpty(crossing.minutes) && crossing.made && "minutes in the water not written down",
    (crossing.minutes || 0) > data.easy.minutes && `more than ${data.easy.minutes} minutes`,
    crossing.depth_m > data.easy.depth_m && `deeper than ${data.easy.depth_m} m`,
    crossing.water === "muddy" && "silt in the water",
    leaks && "a seal on record leaks",
  ].filter(Boolean);

  const grade = (data, crossing, unit, leaks, high) => {
    const level = data.levels;
    const under = (name) => data.points[name].filter((point) => isUnder(data, unit, point, crossing.depth_m, high))
      .map((point) => `${point.replaceAll("_", " ")} under`);
    const hubs = under("hub");
    const long = stood(data, crossing, hubs.length > 0);
    if (long.length) return { number: level.stood, because: long };
    const floor = under("floor");
    if (floor.length) return { number: level.floor, because: floor };
    const breathers = under("breather");
    if (hubs.length || breathers.length) {
      const why = [...hard(data, crossing, leaks), ...breathers];
      return why.length ? { number: level.hard, because: why } : { number: level.easy, because: hubs };
    }
    const beside = under("beside");
    if (beside.length) return { number: level.easy, because: beside };
    const nipples = under("nipple");
    return { number: nipples.length ? level.nipple : level.wheel, because: nipples };
  };

  // The history: what is on record, and what the phone has recorded since.
  const meets = (rowPosition, wanted, positions) => {
    if (isEmpty(rowPosition) || rowPosition === "both" || rowPosition === "all") return true;
    return isEmpty(wanted) ? positions.length === 0 : rowPosition === wanted;
  };

  const rowOf = (cells) => {
    const [unit, item, position, act, finding, day, row] = cells;
    return { unit, item, position, act, finding, day, row };
  };

  const index = (rows) => {
    const found = new Map();
    for (const row of rows) {
      const key = `${row.unit} ${row.item}`;
      if (!found.has(key)) found.set(key, []);
      found.get(key).push(row);
    }
    return found;
  };

  // As things happened: by day, and on one day as the rows stand in the book.
  const isLater = (a, b) => a.day > b.day || (a.day === b.day && a.row > b.row);
  const latest = (rows) => rows.reduce((best, row) => (best === null || isLater(row, best) ? row : best), null);

  class History {
    constructor(data, rows) {
      this.data = data;
      this.rows = index(rows);
    }

    of(unit, item) { return this.rows.get(`${unit.id} ${item}`) || []; }

    does(done, wanted) {
      return done === wanted || done === this.data.tells.service || (this.data.done_by[wanted] || []).includes(done);
    }

    cures(row, item, finding) {
      const act = row.act === this.data.tells.service ? item.act : row.act;
      return item.ends[finding].includes(act);
    }

    since(name, unit, position, crossing) {
      if (!crossing.made) return [];
      const item = this.data.items[name];
      const own = [{ item: name, act: item.act, positions: item.positions }, ...item.by];
      return own.flatMap((by) => this.of(unit, by.item)
        .filter((row) => meets(row.position, position, by.positions) && row.day >= crossing.day));
    }

    isCured(bad, rows, item) {
      return rows.some((row) => !isLater(bad, row) && this.cures(row, item, bad.finding));
    }

    isBad(row, rows, item) {
      return this.data.findings.bad.includes(row.finding) && !this.isCured(row, rows, item);
    }

    isClean(rows) {
      const found = rows.filter((row) => row.finding);
      return found.length > 0 && found.every((row) => this.data.findings.good.includes(row.finding));
    }

    leaks(name, unit, position, crossing) {
      const item = this.data.items[name];
      const { tells, findings, points } = this.data;
      const bad = { [tells.seal]: findings.bad, [tells.bearing]: findings.entered }[item.family];
      if (!bad || !item.points.some((point) => points.hub.includes(point))) return false;
      const own = latest(this.of(unit, name).filter((row) => row.finding && meets(row.position, position, item.positions)));
      if (own === null || !bad.includes(own.finding) || this.isCured(own, [own], item)) return false;
      if (crossing.made && own.day >= crossing.day) return false;
      const by = [{ item: name, act: item.act, positions: item.positions }, ...item.by];
      const done = latest(by.flatMap((other) => this.of(unit, other.item)
        .filter((row) => this.does(row.act, other.act) && meets(row.position, position, other.positions))));
      return done === null || done.day <= own.day;
    }
  }

  const sides = (item) => (item.positions.length ? item.positions : [null]);

  class Desk {
    constructor(data, crossings, rows, today) {
      this.data = data;
      this.today = today;
      this.history = new History(data, rows);
      this.units = new Map(data.units.map((unit) => [unit.id, unit]));
      this.legs = new Map(data.legs.map((leg) => [leg.leg, leg]));
      this.crossings = this.inOrder(crossings);
      this.highLooks = new Set(data.rules.filter((rule) => rule.line === "high").map((rule) => rule.item));
    }

    inOrder(crossings) {
      return crossings.map((one) => ({ ...one, trip_km: this.legs.get(one.leg).start_km + one.at_km }))
        .sort((a, b) => a.trip_km - b.trip_km || a.depth_m - b.depth_m);
    }

    fits(unit, item) { return this.data.fits[unit.id].includes(item); }

    wets(crossing, unit) { return unit.kind === "vehicle" || this.legs.get(crossing.leg).towing; }

    sealLeaks(unit, crossing) {
      return this.data.fits[unit.id].some((name) => sides(this.data.items[name])
        .some((side) => this.history.leaks(name, unit, side, crossing)));
    }

    grades(crossing) {
      return this.data.units.filter((unit) => this.wets(crossing, unit)).map((unit) => ({
        unit: unit.id, ...grade(this.data, crossing, unit, this.sealLeaks(unit, crossing), false),
      }));
    }

    fords() {
      return this.crossings.filter((crossing) => crossing.depth_m > 0).flatMap((crossing) => this.data.units
        .filter((unit) => this.wets(crossing, unit)).map((unit) => {
          const leaks = this.sealLeaks(unit, crossing);
          const [low, high] = [false, true].map((line) => grade(this.data, crossing, unit, leaks, line).number);
          return { crossing, unit, grade: low, grade_high: high };
        }));
    }

    worstSide(item, unit, crossing) {
      const beside = this.data.fits[unit.id].filter((name) => this.data.items[name].place === item.place);
      const rank = (side) => {
        const bad = beside.some((name) => this.history.since(name, unit, side, crossing)
          .some((row) => this.data.findings.bad.includes(row.finding)));
        const leaks = beside.some((name) => this.history.leaks(name, unit, side, crossing));
        return (bad ? 0 : 2) + (leaks ? 0 : 1);
      };
      return [...item.positions].sort((a, b) => rank(a) - rank(b))[0];
    }

    holds(rule, ford, number, item, position) {
      const { crossing, unit } = ford;
      if (rule.water !== "any" && rule.water !== crossing.water) return false;
      if (!item.positions.length || position === null) return true;
      if (rule.once) return position === item.positions[0];
      const oneTells = crossing.water === "fresh" && !crossing.stalled && !crossing.hubs_hot;
      if (rule.sample && oneTells && number < this.data.levels.stood) {
        return position === this.worstSide(item, unit, crossing);
      }
      return true;
    }

    seen(rule, unit, position, crossing, tells) {
      let clean = false;
      for (const [name, act] of rule.deciding || []) {
        if (!this.fits(unit, name)) continue;
        const item = this.data.items[name];
        const rows = this.history.since(name, unit, item.positions.length ? position : null, crossing);
        const bad = rows.filter((row) => tells.includes(row.finding));
        if (bad.some((row) => !this.history.isCured(row, rows, item))) return "found";
        clean = clean || this.history.isClean(rows.filter((row) => this.history.does(row.act, act)));
      }
      return clean ? "clean" : null;
    }

    asked(rule, ford, position) {
      const { crossing, unit } = ford;
      const { data } = this;
      const item = data.items[rule.item];
      const isHigh = rule.line === "high";
      let number = isHigh ? ford.grade_high : ford.grade;
      if (!this.holds(rule, ford, number, item, position)) return null;
      const side = rule.once ? null : position;
      const drawnIn = crossing.stalled && unit.kind === "vehicle"
        && item.points.some((point) => data.points.intake.includes(point));
      const reached = !rule.own_point || drawnIn || isImmersed(data, item, unit, crossing, isHigh);
      const tells = reached ? data.findings.bad : data.findings.entered;
      const word = this.seen(rule, unit, side, crossing, tells);
      if (!reached && word !== "found") {
        if (!(rule.deciding || []).some(([name]) => this.highLooks.has(name))) return null;
        if (!isImmersed(data, item, unit, crossing, true)) return null;
        number = ford.grade_high;
      }
      const decides = (rule.deciding || []).length > 0;
      if (rule.when === data.again_later && decides && word !== "found") return null;
      const start = data.repacks && !isEmpty(rule.owner_from) ? rule.owner_from : rule.first_grade;
      const counted = crossing.made ? number : Math.min(number, data.levels.easy);
      const outright = Boolean(reached && !isEmpty(start) && counted >= start);
      const told = !isEmpty(rule.told_from) && (word === "found" || (word === null && number >= rule.told_from));
      if (!outright && !told) return null;
      const missed = Boolean(!outright && word === null && reached && this.isMissed(rule, ford, side));
      const call = { ...this.limits(rule, crossing), rule, item: rule.item, unit: unit.id, position: side,
        crossing, grade: number, contingent: !outright && word !== "found" && !missed, missed };
      return this.isSettled(call, unit, item) ? null : call;
    }

    isMissed(rule, ford, side) {
      const { data } = this;
      if (rule.when !== data.relaxed_when || !this.today || !ford.crossing.made) return false;
      return data.rules.some((look) => {
        const decides = data.looks.includes(look.act)
          && (rule.deciding || []).some(([name, act]) => name === look.item && act === look.act);
        if (!decides || !this.fits(ford.unit, look.item)) return false;
        const asked = this.asked(look, ford, data.items[look.item].positions.length ? side : null);
        return asked !== null && !asked.contingent && asked.by_date !== null && asked.by_date < this.today;
      });
    }

    limits(rule, crossing) {
      const ends = isEmpty(rule.within_km) ? [] : [crossing.trip_km + rule.within_km];
      if (rule.when === this.data.relaxed_when) {
        const next = this.data.legs.find((leg) => leg.remote && leg.start_km > crossing.trip_km);
        if (next) ends.push(next.start_km);
      }
      const hours = isEmpty(rule.within_hours) ? null : Math.floor(rule.within_hours / 24);
      const days = isEmpty(rule.within_days) ? hours : rule.within_days;
      return { by_km: ends.length ? Math.min(...ends) : null, by_date: days === null ? null : addDays(crossing.day, days) };
    }

    isSettled(call, unit, item) {
      const { rule, crossing } = call;
      const { data, history } = this;
      const rows = history.since(call.item, unit, call.position, crossing);
      if (rule.when === data.again_later && (rule.deciding || []).length) {
        const doubtful = rows.filter((row) => data.findings.bad.includes(row.finding)).map((row) => row.day).sort()[0];
        return rows.some((row) => history.does(row.act, rule.act) && row.day > (doubtful || row.day));
      }
      if (!crossing.made) return false;
      if (rows.some((row) => history.does(row.act, rule.act))) {
        return data.looks.includes(rule.act) || !rows.some((row) => history.isBad(row, rows, item));
      }
      const tells = crossing.water === "fresh" || item.family === data.tells.family;
      return rule.when === data.relaxed_when && tells && history.isClean(rows);
    }

    onceAWetDay(found) {
      const best = new Map();
      for (const call of found) {
        const { crossing, rule } = call;
        const once = this.data.each_time.includes(rule.when) ? this.crossings.indexOf(crossing) : crossing.day;
        const key = JSON.stringify([once, call.unit, call.item, call.position, rule.when, rule.water]);
        const before = best.get(key);
        if (!before || !call.contingent || before.contingent) best.set(key, call);
      }
      const kept = new Set(best.values());
      return found.filter((call) => kept.has(call));
    }

    calls() {
      const rules = new Map();
      for (const rule of this.data.rules) {
        if (!rules.has(rule.item)) rules.set(rule.item, []);
        rules.get(rule.item).push(rule);
      }
      const found = this.fords().flatMap((ford) => this.data.fits[ford.unit.id].flatMap((name) =>
        sides(this.data.items[name]).flatMap((side) => (rules.get(name) || [])
          .map((rule) => this.asked(rule, ford, side)).filter((call) => call !== null))));
      return this.onceAWetDay(found);
    }
  }

  return { Desk, rowOf, heightM, waveM, isUnder, addDays };
})();
if (typeof module === "object") module.exports = Water;
