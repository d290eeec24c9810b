// The page itself: what is recorded, what is asked for, and how it is shown. Records are only added; one that was
// wrong is undone by another. Everything shown is worked out anew from the plan in the file and the records.
const Page = (() => {
  const { el, dayOf, minuteOf, stamp, dayWords, duration, upper, figure, count, newId, numbers, number } = Parts;
  const given = JSON.parse(document.getElementById("data").textContent);
  const { water } = given;
  const by = (id) => document.getElementById(id);
  const NEAR_KM = 10;
  const MOST_DEPTH_M = 3;
  const ROW_OF_PHONE = 1e6;
  const MOST_READING_KM = 5e6;
  const state = { records: [], unkept: new Set(), store: null, jobs: [], said: null, folds: new Map() };

  // What is recorded.
  const live = () => {
    const gone = new Set(state.records.filter((one) => one.kind === "undo").map((one) => one.of));
    return state.records.filter((one) => one.kind !== "undo" && !gone.has(one.id));
  };
  const fresh = () => live().filter((one) => !given.taken.includes(one.id));
  const dayOfRecord = (record) => record.at.slice(0, 10);
  const inOrder = (records) => [...records].sort((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : a.id < b.id ? -1 : 1));
  const workOf = (job) => inOrder(live()).filter((one) => one.kind === "work" && one.unit === job.unit && one.item === job.item
    && (one.position || "") === job.position && one.act === job.act && (one.slot || "") === job.slot).pop();

  const tell = (text) => {
    by("told").textContent = text;
  };

  const keep = async (...records) => {
    for (const record of records) state.records.push(record);
    try {
      for (const record of records) await state.store.add(record);
    } catch (why) {
      records.forEach((record) => state.unkept.add(record.id));
      tell(`NOT KEPT on this phone: ${why && why.name === "QuotaExceededError" ? "its store is full" : "the browser refused it"}. `
        + "It stands on this page only until it is closed: take it home now (Book), or write it on paper.");
    }
    show();
  };

  const made = (kind, told) => {
    const now = new Date();
    const filled = Object.entries(told).filter(([, value]) => value !== "" && value !== null && value !== undefined);
    return { id: newId(now), kind, at: stamp(now), ...Object.fromEntries(filled) };
  };

  const say = (text, record) => {
    state.said = { text, id: record && record.id };
    showSaid();
  };

  const undo = async (id) => {
    const record = state.records.find((one) => one.id === id);
    await keep(made("undo", { of: id }));
    say(`Undone: ${words(record)}.`);
  };

  // Names.
  const nameOf = (unit, item) => {
    const known = document.querySelector(`.job[data-unit="${CSS.escape(unit)}"][data-item="${CSS.escape(item)}"]`);
    return (water && water.items[item] && water.items[item].name) || (known && known.dataset.name) || item.replaceAll("_", " ");
  };
  const lower = (name) => (/^.[a-z]{2}/.test(name) ? name[0].toLowerCase() + name.slice(1) : name);
  const doing = (act, name) => {
    const begun = given.act_words[act] || act;
    return `${upper(/^all /i.test(name) ? begun.replace(/ the$/, "") : begun)} ${lower(name)}`;
  };
  const unitWords = (unit) => (given.units.length > 1 ? ` (${unit})` : "");
  const words = (record) => {
    if (record.kind === "crossing") {
      return `crossing on leg ${record.leg} at km ${figure(record.at_km)}, ${figure(record.depth_m)} m, ${record.water}`
        + `${record.minutes === undefined ? "" : `, ${record.minutes} min`}${record.hubs_hot ? ", hubs hot" : ""}${record.stalled ? ", engine stopped" : ""}`;
    }
    if (record.kind === "reading") return `odometer of ${record.unit}: ${record.odometer_km} km${record.note ? `; ${record.note}` : ""}`;
    if (record.kind === "note") return `note: ${record.note}`;
    if (record.kind === "round") return "walk-round done";
    const side = record.position ? `, ${record.position}` : "";
    return `${record.act} ${nameOf(record.unit, record.item)}${side}${unitWords(record.unit)}`
      + `${record.finding ? `: found ${record.finding}` : ""}${record.note ? `; ${record.note}` : ""}`;
  };

  // Ticks and findings, the same for planned work and for what water asks.
  const tick = async (job) => {
    const done = workOf(job);
    if (done) return undo(done.id);
    const record = made("work", { ...job, title: undefined, key: undefined });
    await keep(record);
    return say(`Kept: ${words(record)}.`, record);
  };

  const keyOf = (job) => [job.slot, job.unit, job.item, job.position, job.act].join("|");

  const tickButton = (job, label) => {
    const done = workOf(job);
    return el("button", { class: "tick", type: "button", "aria-pressed": done ? "true" : "false", "data-key": `tick ${keyOf(job)}`,
      "aria-label": `${job.title}${job.position ? `, ${job.position}` : ""}: done`, onclick: () => tick(job) }, el("i", { class: "box" }), label);
  };

  const findButton = (job) => {
    const done = workOf(job);
    return el("button", { class: "find", type: "button", "data-key": `find ${keyOf(job)}`,
      "aria-label": `${job.title}${job.position ? `, ${job.position}` : ""}: what was found`, onclick: () => ask(job) },
    done && done.finding ? `found ${done.finding}` : "found …");
  };

  const boxes = (job, label, looks) => el("span", {}, looks ? null : tickButton(job, label), findButton(job));

  const ask = (job) => {
    const before = workOf(job);
    const note = el("textarea", { id: "ask-note", rows: "2", maxlength: "400" });
    note.value = (before && before.note) || "";
    const box = el("dialog", { "aria-labelledby": "ask-title" });
    const close = () => {
      box.close();
      box.remove();
      const back = document.querySelector(`[data-key="${CSS.escape(`find ${keyOf(job)}`)}"]`);
      if (back) back.focus();
    };
    const write = async (finding) => {
      const record = made("work", { ...job, title: undefined, finding, note: note.value.trim() });
      if (before) await keep(made("undo", { of: before.id }), record);
      else await keep(record);
      close();
      say(`Kept: ${words(record)}.`, record);
    };
    box.append(
      el("h3", { id: "ask-title" }, `${job.title}${job.position ? `, ${job.position}` : ""}`),
      el("div", { class: "grid" }, ...given.findings.map((finding) => el("button", { type: "button", onclick: () => write(finding) }, upper(finding)))),
      el("div", { class: "field" }, el("label", { for: "ask-note" }, "In your words"), note),
      el("div", { class: "row" }, el("button", { type: "button", onclick: () => write("") }, "Done, no finding"),
        el("button", { type: "button", onclick: close }, "Close")),
    );
    box.addEventListener("cancel", (event) => { event.preventDefault(); close(); });
    document.body.append(box);
    box.showModal();
  };

  const setUpJobs = () => {
    for (const node of document.querySelectorAll(".job")) {
      const place = node.closest("[data-slot]");
      const title = node.querySelector(".name").firstChild.textContent.trim();
      node.dataset.name = title.replace(/^[^:]*: /, "");
      const { unit, item, act, sides, looks } = node.dataset;
      const jobs = sides.split("|").map((position) => ({ unit, item, position, act, slot: place ? place.dataset.slot : "", title }));
      let where = node.querySelector(".boxes");
      if (!where) {
        where = el("p", { class: "boxes" });
        node.append(where);
      }
      state.jobs.push({ node, jobs, where, looks: Boolean(looks), place });
    }
  };

  const showJobs = () => {
    for (const { node, jobs, where, looks } of state.jobs) {
      const key = jobs.map((job) => { const done = workOf(job); return done ? done.id : ""; }).join("|");
      if (node.dataset.shown !== key) {
        node.dataset.shown = key;
        where.replaceChildren(...jobs.map((job) => boxes(job, job.position || "done", looks)));
      }
      node.classList.toggle("done", !looks && jobs.every((job) => workOf(job)));
    }
    const next = nextJob();
    state.jobs.forEach((one) => one.node.classList.toggle("next", Boolean(next) && one.node === next.node));
  };

  // Now.
  const places = () => [...document.querySelectorAll("[data-slot]")].map((node) => {
    const own = state.jobs.filter((one) => one.place === node);
    return { node, day: node.dataset.day, place: node.dataset.place || "home", own, open: own.filter((one) => !one.jobs.every((job) => workOf(job))) };
  });

  // Every side is a job, as in the lists of the plan.
  const undone = (place) => place.open.reduce((sum, one) => sum + one.jobs.filter((job) => !workOf(job)).length, 0);

  const nextPlace = () => {
    const today = dayOf(new Date());
    const open = places().filter((one) => one.open.length);
    return open.find((one) => one.day >= today) || open[open.length - 1];
  };

  const nextJob = () => {
    const place = nextPlace();
    return place && place.open[0];
  };

  const showNow = () => {
    const today = dayOf(new Date());
    const lines = [el("p", {}, el("b", {}, dayWords(today)), ". ", whereNow(today))];
    const asked = water ? shownOnce(advice()) : [];
    const open = grouped(asked.filter((one) => one.call && !one.call.contingent)).length;
    if (open) lines.push(el("p", { class: "told" }, el("a", { href: "#live-advice" }, `After water: ${count(open, "thing is", "things are")} asked for`)));
    lines.push(...showNext());
    if (water) {
      const ahead = crossings().find((one) => !one.made && one.day >= today);
      if (ahead) lines.push(el("p", {}, el("a", { href: "#water" }, `Next water: leg ${ahead.leg}, km ${figure(ahead.at_km)}, ${dayWords(ahead.day)}`)));
    }
    const read = live().some((one) => one.kind === "reading" && dayOfRecord(one) === today);
    if (!read) lines.push(el("p", {}, el("a", { href: "#odometer" }, "The odometer of today is not written down yet")));
    by("live-now").replaceChildren(...lines);
    const walked = inOrder(live()).filter((one) => one.kind === "round" && dayOfRecord(one) === today).pop();
    by("live-round").replaceChildren(el("button", { class: "tick", type: "button", "aria-pressed": walked ? "true" : "false", "data-key": "round",
      onclick: async () => {
        if (walked) return undo(walked.id);
        const record = made("round", {});
        await keep(record);
        return say("Kept: walk-round done.", record);
      } }, el("i", { class: "box" }), "Done today"));
  };

  const whereNow = (today) => {
    if (today < given.depart) return `Departure on ${dayWords(given.depart)}.`;
    if (today > given.return) return `Planned back on ${dayWords(given.return)}.`;
    const legs = water ? water.legs.filter((leg) => leg.day === today) : [];
    if (legs.length) return `Planned today: ${legs.map((leg) => `leg ${leg.leg}, ${leg.from} to ${leg.to}, ${Math.round(leg.distance_km)} km`).join("; ")}.`;
    const next = water && water.legs.find((leg) => leg.day > today);
    return next ? `No leg starts today; leg ${next.leg} to ${next.to} on ${dayWords(next.day)}.` : "No leg starts today.";
  };

  const showNext = () => {
    const next = nextPlace();
    if (!next) return [el("p", {}, "All planned work is ticked.")];
    const [first, ...rest] = next.open;
    const left = places().filter((one) => one.day < next.day && one.open.length && one !== next);
    const lines = [
      el("h3", {}, `Next: ${dayWords(next.day)}, ${next.place}`),
      el("p", {}, `${count(undone(next), "job", "jobs")} open of ${next.own.reduce((sum, one) => sum + one.jobs.length, 0)}.`),
      el("div", { class: "told" }, el("p", { class: "name" }, el("a", { href: `#${next.node.id}`, "data-open": "next" }, first.jobs[0].title)),
        el("p", { class: "boxes" }, ...first.jobs.map((job) => boxes(job, job.position || "done", first.looks)))),
    ];
    if (rest.length) lines.push(el("p", { class: "fine" }, `Then: ${rest.slice(0, 3).map((one) => one.jobs[0].title).join("; ")}${rest.length > 3 ? "; …" : "."}`));
    if (left.length) lines.push(el("p", { class: "fine" }, el("a", { href: `#${left[0].node.id}` }, `Left open earlier: ${count(left.reduce((sum, one) => sum + undone(one), 0), "job", "jobs")} at ${count(left.length, "place", "places")}`)));
    return lines;
  };

  // Water.
  const crossings = () => {
    const found = water.crossings.map((one) => ({ ...one }));
    for (const record of inOrder(fresh()).filter((one) => one.kind === "crossing")) {
      const planned = found.filter((one) => !one.made && one.leg === record.leg && Math.abs(one.at_km - record.at_km) <= NEAR_KM)
        .sort((a, b) => Math.abs(a.at_km - record.at_km) - Math.abs(b.at_km - record.at_km) || a.at_km - b.at_km)[0];
      const told = { leg: record.leg, at_km: record.at_km, depth_m: record.depth_m, water: record.water, day: record.when.slice(0, 10),
        minutes: record.minutes === undefined ? null : record.minutes, made: true, at: record.when, record: record.id };
      if (planned) Object.assign(planned, told, { stalled: record.stalled || planned.stalled, hubs_hot: record.hubs_hot || planned.hubs_hot });
      else found.push({ ...told, stalled: Boolean(record.stalled), hubs_hot: Boolean(record.hubs_hot) });
    }
    return found.map((one) => ({ ...one, trip_km: water.legs.find((leg) => leg.leg === one.leg).start_km + one.at_km }))
      .sort((a, b) => a.trip_km - b.trip_km || a.depth_m - b.depth_m);
  };

  const rowsOfPhone = () => inOrder(fresh()).filter((one) => one.kind === "work").map((one, at) => Water.rowOf(
    [one.unit, one.item, one.position || null, one.act, one.finding || null, dayOfRecord(one), ROW_OF_PHONE + at]));

  const desk = (rows) => new Water.Desk(water, crossings(), [...water.rows.map(Water.rowOf), ...rows], dayOf(new Date()));

  // What is asked for after the crossings made: still open, or asked for before the records settled it.
  const advice = () => {
    if (!water) return [];
    const now = desk(rowsOfPhone());
    const met = now.crossings.filter((one) => one.made);
    const days = new Set(met.map((one) => one.day));
    const concerns = (call) => call.crossing.made || (days.has(call.crossing.day) && !water.each_time.includes(call.rule.when));
    const name = (call) => JSON.stringify([call.unit, call.item, call.position, call.rule.when, call.rule.act, call.crossing.leg, call.crossing.at_km]);
    const open = new Map(now.calls().filter(concerns).map((call) => [name(call), call]));
    const before = desk([]).calls().filter(concerns);
    const every = new Map([...before.map((call) => [name(call), call]), ...open]);
    return [...every].map(([key, was]) => ({ was, call: open.get(key), opened: Boolean(open.get(key)) && !open.get(key).contingent
      && !before.some((call) => name(call) === key && !call.contingent) }));
  };

  // One act at one item is shown once, however many crossings ask for it: the one that is due first.
  const shownOnce = (every) => {
    const found = new Map();
    for (const one of every) {
      const { was } = one;
      const again = was.rule.when === water.again_later;
      const key = JSON.stringify([was.unit, was.item, was.position, was.rule.act, again]);
      const other = found.get(key);
      const order = ({ was: call, call: open }) => [open && !open.contingent ? 0 : open ? 1 : 2, water.windows.findIndex(([when]) => when === call.rule.when), call.by_date || "9"].join(" ");
      if (!other || order(one) < order(other)) found.set(key, one);
    }
    return [...found.values()];
  };

  const jobOfCall = (call) => {
    const item = water.items[call.item];
    const name = call.rule.name || item.name;
    const verb = !call.rule.name && call.rule.act === item.act && item.verb;
    return { unit: call.unit, item: call.item, position: call.position || "", act: call.rule.act, slot: "",
      title: `${doing(verb || call.rule.act, name)}${unitWords(call.unit)}` };
  };

  // The same act at the same item, on one side or both, is one entry.
  const grouped = (every) => {
    const found = new Map();
    for (const one of every) {
      const key = JSON.stringify([one.was.unit, one.was.item, one.was.rule.when, one.was.rule.act, one.was.rule.water, one.was.crossing.trip_km]);
      if (!found.has(key)) found.set(key, []);
      found.get(key).push(one);
    }
    return [...found.values()];
  };

  // What waits for nothing first: before the engine turns again, then what is for the whole rig, then by item.
  const rank = ({ was }) => {
    const first = was.crossing.stalled && water.items[was.item].points.some((point) => water.points.intake.includes(point));
    return [first ? 0 : 1, was.rule.once ? 0 : 1, was.unit, was.item, was.position || ""];
  };
  const ranked = (every) => [...every].sort((a, b) => {
    const [left, right] = [rank(a), rank(b)];
    const at = left.findIndex((part, spot) => part !== right[spot]);
    return at < 0 ? 0 : left[at] < right[at] ? -1 : 1;
  });

  const limitsOf = ({ by_date, by_km, rule }) => (water.each_time.includes(rule.when) ? ""
    : [by_date && `by ${dayWords(by_date)}`, by_km !== null && `by trip km ${Math.round(by_km)}`].filter(Boolean).join(" or "));

  const lookedFor = ({ rule, crossing }) => {
    const leg = water.legs.find((one) => one.leg === crossing.leg);
    return [rule.look_for, leg.towing && rule.look_for_towed].filter(Boolean).join("; ");
  };

  const askedLine = (same) => {
    const { was } = same[0];
    const job = jobOfCall(was);
    const { rule } = was;
    const open = same.filter((one) => one.call);
    const told = [rule.look_for && `Look for ${lookedFor(was)}.`, rule.if_clean && `Clean: ${rule.if_clean}.`, rule.if_found && `If found: ${rule.if_found}.`];
    const minutes = duration(rule.minutes + (rule.open_minutes || 0)) + (same.length > 1 ? " each" : "");
    return el("li", { class: open.length ? "" : "done" },
      el("b", {}, job.title), ` ${[minutes, limitsOf(was)].filter(Boolean).join(", ")}`,
      same.some((one) => one.opened) ? el("p", { class: "care" }, "Opened by what a look found.") : null,
      open.some((one) => one.call.missed) ? el("p", { class: "care" }, "No look is on record in its time, so it is asked for.") : null,
      el("p", { class: "fine" }, open.length ? told.filter(Boolean).join(" ") : "Settled by what is recorded."),
      el("p", { class: "boxes" }, ...same.map((one) => boxes(jobOfCall(one.was), one.was.position || "done", false))));
  };

  const maybeLine = (same) => {
    const { was } = same[0];
    const { rule } = was;
    const open = same.filter((one) => one.call);
    const sides = same.map((one) => one.was.position).filter(Boolean).join(" and ");
    const looks = (rule.deciding || []).filter(([item]) => water.fits[was.unit].includes(item)).map(([item, act]) => `${act} ${water.items[item].name}`);
    return el("li", { class: open.length ? "" : "done" },
      el("b", {}, `${jobOfCall(was).title}${sides ? `, ${sides}` : ""}`), ` ${duration(rule.minutes + (rule.open_minutes || 0))}${same.length > 1 ? " each" : ""}`,
      el("p", { class: "fine" }, open.length ? `If there is ${lookedFor(was)}: ${rule.if_found}. Decided by: ${looks.join("; ")}.` : "Closed: the look that decides it was clean."));
  };

  const folded = (name, title, lines, isOpen) => {
    const node = el("details", { class: "window", open: state.folds.has(name) ? state.folds.get(name) : isOpen }, el("summary", {}, ...title), el("ul", { class: "acts" }, ...lines));
    node.addEventListener("toggle", () => state.folds.set(name, node.open));
    return node;
  };

  const showAdvice = () => {
    if (!water) return;
    const met = crossings().filter((one) => one.made);
    const where = by("live-advice");
    if (!met.length) {
      where.replaceChildren();
      return;
    }
    const every = shownOnce(advice());
    const now = desk(rowsOfPhone());
    const lines = [el("h3", {}, "After the crossing: what it calls for")];
    const notes = new Set();
    for (const one of [...met].sort((a, b) => (a.at < b.at ? 1 : -1))) lines.push(...metLines(one, now, notes));
    let isFirst = true;
    for (const [when, title] of water.windows) {
      const asked = ranked(every.filter((one) => one.was.rule.when === when && !(one.call || one.was).contingent));
      if (asked.length) {
        const days = Math.min(...asked.map((one) => one.was.rule.within_days || Infinity));
        const told = title || (when === "days" ? `within ${count(days, "day", "days")}` : "again later");
        const open = grouped(asked.filter((one) => one.call)).length;
        lines.push(folded(when, [upper(told), " ", el("span", {}, open ? `${open} open` : "all settled")], grouped(asked).map(askedLine), isFirst && open > 0));
        isFirst = isFirst && !open;
      }
    }
    const maybe = every.filter((one) => (one.call || one.was).contingent);
    if (maybe.length) {
      const open = grouped(maybe.filter((one) => one.call)).length;
      lines.push(folded("maybe", ["Only if a look finds it ", el("span", {}, open ? `${open} open` : "all closed")], grouped(ranked(maybe)).map(maybeLine), false));
    }
    lines.push(el("p", { class: "note" }, "This comes from the plan's own rules of water, and says what to look at and do. Which stop takes it, and "
      + "what moves for it, is not worked out here: the laptop does that, from the records taken home. Nothing here says that water can be driven."));
    where.replaceChildren(...lines);
  };

  const metLines = (one, now, told) => {
    const grades = now.grades(now.crossings.find((other) => other.leg === one.leg && other.at_km === one.at_km && other.made));
    const worst = grades.reduce((a, b) => (b.number > a.number ? b : a), { number: -1, because: [] });
    const notes = [one.stalled && "stalled", one.hubs_hot && "hubs_hot", one.water === "salt" && "salt"].filter(Boolean)
      .flatMap((kind) => water.notes[kind]).filter((note) => !told.has(note));
    notes.forEach((note) => told.add(note));
    return [
      el("p", {}, `Leg ${one.leg} at km ${figure(one.at_km)}, ${dayWords(one.day)}: ${figure(one.depth_m)} m, ${one.water}. `
        + (worst.number < 0 ? "" : `Grade ${worst.number} of 5, ${water.grade_words[worst.number]}${worst.because.length ? `: ${worst.because.join(", ")}` : ""}.`)),
      ...notes.map((note) => el("p", { class: "care" }, note)),
    ];
  };

  const drawWater = (depthM) => {
    for (const svg of document.querySelectorAll(".side-view")) {
      const ground = Number(svg.dataset.ground);
      const perM = Number(svg.dataset.perM);
      const y = (metres) => ground - Math.min(metres, 2.1) * perM;
      const still = svg.querySelector("[data-water]");
      still.setAttribute("y", y(depthM));
      still.setAttribute("height", ground - y(depthM));
      svg.querySelector("[data-wave]").setAttribute("transform", `translate(0 ${depthM > 0 ? y(depthM + Number(svg.dataset.allowance)) : ground})`);
      for (const dot of svg.querySelectorAll("[data-height]")) {
        dot.classList.toggle("under", depthM > 0 && depthM + Number(dot.dataset.waveM) >= Number(dot.dataset.height));
      }
    }
    let under = 0;
    for (const line of document.querySelectorAll(".heights li")) {
      const unit = water.units.find((one) => one.id === line.dataset.unit);
      const is = Water.isUnder(water, unit, line.dataset.point, depthM, false);
      under += is;
      line.classList.toggle("under", is);
      line.classList.toggle("perhaps", !is && Water.isUnder(water, unit, line.dataset.point, depthM, true));
    }
    return under;
  };

  const keyOfFord = ({ leg, at_km }) => `${leg} ${at_km}`;
  const legOfToday = () => (water.legs.filter((one) => one.day <= dayOf(new Date())).pop() || water.legs[0]).leg;

  const setUpWater = () => {
    if (!water) return;
    const depth = el("input", { type: "range", id: "depth", min: "0", max: "150", step: "1", value: "0" });
    const shown = el("output", { class: "depth", for: "depth" });
    const under = el("p", { class: "fine", role: "status" });
    const which = el("select", { id: "which" });
    const leg = el("select", { id: "leg" }, ...water.legs.map((one) => el("option", { value: one.leg }, `${one.leg}: to ${one.to}`)));
    const other = el("div", { hidden: true },
      el("div", { class: "row" },
        el("div", { class: "field" }, el("label", { for: "leg" }, "Leg"), leg),
        el("div", { class: "field" }, el("label", { for: "km" }, "Km of the leg"), el("input", { id: "km", inputmode: "decimal", autocomplete: "off" }))));
    const planned = () => crossings().find((each) => !each.made && keyOfFord(each) === which.value);
    const draw = () => {
      const one = planned();
      const asPlanned = one && Math.round(one.depth_m * 100) === Number(depth.value);
      shown.textContent = `${(depth.value / 100).toFixed(2)} m${asPlanned ? ", as planned" : ""}`;
      const points = drawWater(depth.value / 100);
      under.textContent = points ? `${count(points, "height is", "heights are")} counted under.` : "No height is counted under.";
    };
    const set = (cm) => () => { depth.value = cm; draw(); };
    const step = (by_cm) => () => set(Number(depth.value) + by_cm)();
    const option = (one) => el("option", { value: keyOfFord(one) }, `Leg ${one.leg}, km ${figure(one.at_km)}, ${dayWords(one.day)}`);
    // The next crossing of today or later is chosen, unless a hand chose another today; what is past chooses nobody but a hand.
    const fill = () => {
      const today = dayOf(new Date());
      const was = which.options.length ? which.value : null;
      const open = crossings().filter((one) => !one.made);
      const [ahead, past] = [open.filter((one) => one.day >= today), open.filter((one) => one.day < today)];
      which.replaceChildren(...ahead.map(option), el("option", { value: "" }, "Another place"),
        past.length ? el("optgroup", { label: "Planned earlier, not recorded" }, ...past.map(option)) : "");
      const isByHand = state.which && state.which.day === today && [...which.options].some((one) => one.value === state.which.value);
      which.value = isByHand ? state.which.value : ahead.length ? keyOfFord(ahead[0]) : "";
      if (which.value === was) return;
      if (!which.value) depth.value = 0;
      pick();
    };
    // What the plan expects of that crossing is filled in and said to be so; of another place nothing is known.
    const pick = () => {
      const one = planned();
      other.hidden = Boolean(one);
      if (!one) leg.value = legOfToday();
      if (one) depth.value = Math.round(one.depth_m * 100);
      for (const kind of document.querySelectorAll('[name="kind"]')) kind.checked = Boolean(one) && kind.value === one.water;
      by("kind-planned").hidden = !one;
      draw();
    };
    depth.oninput = draw;
    which.onchange = () => {
      state.which = { value: which.value, day: dayOf(new Date()) };
      pick();
    };
    by("live-ford").replaceChildren(
      el("div", { class: "field" }, el("label", { for: "which" }, "Crossing"), which), other,
      el("div", { class: "field" }, el("label", { for: "depth" }, "Depth of the still water "), shown,
        el("div", { class: "row" }, el("button", { type: "button", class: "step", "aria-label": "5 cm less", onclick: step(-5) }, "−"), depth,
          el("button", { type: "button", class: "step", "aria-label": "5 cm more", onclick: step(5) }, "+")),
        el("div", { class: "chips", role: "group", "aria-label": "Round depths" },
          ...given.round_depths_m.map((m) => el("button", { type: "button", onclick: set(Math.round(m * 100)) }, m.toFixed(1))))), under);
    by("live-made").replaceChildren(...madeForm());
    state.fill = fill;
    fill();
  };

  const madeForm = () => {
    const radio = (value, label) => el("label", { class: "pick" }, el("input", { type: "radio", name: "kind", value }), label);
    const check = (id, label) => el("label", { class: "pick" }, el("input", { type: "checkbox", id }), label);
    return [
      el("h3", {}, "It was made"),
      el("p", { class: "fine" }, "Crossing and depth as set above."),
      el("label", { class: "pick" }, el("input", { type: "checkbox", id: "just", checked: true, onchange: () => {
        by("other-time").hidden = by("just").checked;
        if (!by("just").checked) by("when").value = minuteOf(new Date());
      } }), "Just now"),
      el("div", { class: "field", id: "other-time", hidden: true }, el("label", { for: "when" }, "When"), el("input", { type: "datetime-local", id: "when" })),
      el("div", { class: "field" }, el("label", { for: "minutes" }, "Minutes in the water"), el("small", {}, "Empty: not known, which counts as long."),
        el("input", { id: "minutes", inputmode: "decimal", autocomplete: "off" }),
        el("div", { class: "chips four", role: "group", "aria-label": "Round figures" },
          ...given.round_minutes.map((text) => el("button", { type: "button", onclick: () => { by("minutes").value = text; } }, text || "not known")))),
      el("fieldset", {}, el("legend", {}, "Water ", el("span", { class: "fine", id: "kind-planned" }, "(as planned, if you do not change it)")), el("div", { class: "choices" }, radio("fresh", "fresh"), radio("muddy", "muddy"), radio("salt", "salt"))),
      check("hot", "The hubs went in hot"), check("stopped", "The engine stopped in it"),
      el("p", { class: "told", id: "wrong", role: "alert" }),
      el("button", { type: "button", class: "main", id: "made", onclick: cross }, "Keep it, and say what it calls for"),
    ];
  };

  const cross = async () => {
    const planned = crossings().find((each) => !each.made && keyOfFord(each) === by("which").value);
    const leg = planned ? planned.leg : Number(by("leg").value);
    const atKm = planned ? planned.at_km : number(by("km").value);
    const minutes = by("minutes").value.trim() === "" ? null : number(by("minutes").value);
    const when = by("just").checked || !by("when").value ? minuteOf(new Date()) : by("when").value;
    const known = water.legs.find((one) => one.leg === leg);
    const wrong = [
      atKm === null && "Km of the leg: a number, e.g. 95 or 95,5; thousands without a mark, e.g. 1200.",
      atKm !== null && atKm > known.distance_km && `Leg ${leg} is ${figure(known.distance_km)} km long.`,
      by("minutes").value.trim() !== "" && (minutes === null || minutes > 1440) && "Minutes: a number, e.g. 4, or empty.",
      when.slice(0, 10) < water.first_day && `Not before ${dayWords(water.first_day)}: the file knows nothing of earlier days.`,
      when > minuteOf(new Date(Date.now() + 60000)) && "Not in the future.",
      Number(by("depth").value) === 0 && "Depth: set how deep it was.",
      Number(by("depth").value) / 100 > MOST_DEPTH_M && "At most 3 m.",
      !document.querySelector('[name="kind"]:checked') && "Water: fresh, muddy or salt.",
    ].filter(Boolean);
    by("wrong").textContent = wrong.join(" ");
    if (wrong.length) return;
    const record = made("crossing", { leg, at_km: atKm, depth_m: Number(by("depth").value) / 100, minutes, when,
      water: document.querySelector('[name="kind"]:checked').value, hubs_hot: by("hot").checked || null, stalled: by("stopped").checked || null });
    await keep(record);
    for (const id of ["hot", "stopped"]) by(id).checked = false;
    by("minutes").value = "";
    by("just").checked = true;
    by("other-time").hidden = true;
    state.fill();
    say(`Kept: ${words(record)}.`, record);
    if (when.slice(0, known.depart.length) < known.depart) tell(`The plan has leg ${leg} start on ${dayWords(known.day)}${known.depart.slice(10).replace("T", ", ")}: at home put that right in legs.csv first.`);
    by("live-advice").scrollIntoView();
  };

  // Book.
  const textHome = () => Text.build({ key: given.key, rig: given.rig, trip: given.trip, depart: given.depart, planned: given.planned, written: stamp(new Date()) },
    inOrder(state.records.filter((one) => !given.taken.includes(one.id))));

  const showBook = () => {
    const entries = inOrder(state.records.filter((one) => one.kind !== "undo")).reverse();
    const gone = new Set(state.records.filter((one) => one.kind === "undo").map((one) => one.of));
    const stateOf = (one) => [gone.has(one.id) && "undone", given.taken.includes(one.id) && "taken home",
      state.unkept.has(one.id) && "NOT KEPT: only on this page"].filter(Boolean).join(", ");
    by("list").replaceChildren(entries.length ? el("ul", { class: "entries" }, ...entries.map((one) => el("li", { class: `entry${gone.has(one.id) ? " gone" : ""}` },
      el("b", {}, upper(words(one))), el("p", { class: "fine" }, `${dayWords(dayOfRecord(one))}, ${one.at.slice(11, 16)}${stateOf(one) ? `; ${stateOf(one)}` : ""}`),
      gone.has(one.id) || given.taken.includes(one.id) ? null
        : el("button", { type: "button", "data-key": `undo ${one.id}`, "aria-label": `Undo: ${words(one)}`, onclick: () => undo(one.id) }, "Undo"))))
      : el("p", {}, "Nothing is written down yet."));
    const many = live().filter((one) => !given.taken.includes(one.id)).length;
    by("many").textContent = `${count(many, "record", "records")} to take home.`;
    by("text").value = textHome();
    showSquare();
  };

  const KEPT = {
    database: "Kept in this browser on this phone. It stays when the page is closed; it goes when the browser's data is cleared, so take it home now and then.",
    small: "The browser's database cannot be used for this file, so records go into its small store. They stay when the page is closed; take them home soon.",
    none: "NOTHING CAN BE KEPT: this browser gives a file no store. What is written down is lost when the page is closed. Take it home before closing (Book), or write on paper.",
  };

  const save = () => {
    const link = el("a", { href: URL.createObjectURL(new Blob([textHome()], { type: "text/plain" })), download: `field-records-${dayOf(new Date())}.txt` });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  };

  const copy = async () => {
    const text = by("text");
    try {
      await navigator.clipboard.writeText(text.value);
      say("Copied: paste it into a message or a note.");
    } catch (_) {
      text.focus();
      text.select();
      say(document.execCommand("copy") ? "Copied: paste it into a message or a note." : "This browser does not copy: mark the text below and copy it yourself.");
    }
  };

  const share = async () => {
    const file = new File([textHome()], `field-records-${dayOf(new Date())}.txt`, { type: "text/plain" });
    try {
      if (navigator.canShare && navigator.canShare({ files: [file] })) await navigator.share({ files: [file] });
      else await navigator.share({ title: "Field records", text: textHome() });
    } catch (why) {
      if (why.name !== "AbortError") say("This browser does not share it: copy it, or save the file.");
    }
  };

  // The text as squares, one after another, for a camera that can be held over this phone.
  const showSquare = () => {
    const where = by("squares");
    if (!where || !where.open) return;
    const parts = Text.parts(textHome());
    state.square = Math.min(Math.max(state.square || 0, 0), parts.length - 1);
    const rows = Qr.encode(parts[state.square]);
    const size = rows.length + 8;
    const make = (tag, told) => {
      const node = document.createElementNS("http://www.w3.org/2000/svg", tag);
      Object.entries(told).forEach(([name, value]) => node.setAttribute(name, value));
      return node;
    };
    const picture = make("svg", { viewBox: `0 0 ${size} ${size}`, role: "img", "aria-label": `Square ${state.square + 1} of ${parts.length}`, "shape-rendering": "crispEdges" });
    picture.append(make("path", { d: rows.flatMap((row, y) => row.map((dark, x) => (dark ? `M${x + 4} ${y + 4}h1v1h-1z` : ""))).join("") }));
    const turn = (by_one) => () => { state.square += by_one; showSquare(); };
    by("square").replaceChildren(
      el("p", { class: "fine" }, `Square ${state.square + 1} of ${parts.length}. Read every one with a camera, put their texts in one file, in any order, and give that at home.`),
      el("div", { class: "square" }, picture),
      el("div", { class: "row" }, el("button", { type: "button", onclick: turn(-1), disabled: state.square === 0 }, "Back"),
        el("button", { type: "button", onclick: turn(1), disabled: state.square === parts.length - 1 }, "Next")));
  };

  const setUpBook = () => {
    by("live-book").replaceChildren(
      el("p", { class: "note fine" }, KEPT[state.store.kind]),
      el("h3", { id: "odometer", tabindex: "-1" }, "Odometer"),
      el("div", { class: "field" }, el("label", { for: "unit" }, "Of"), el("select", { id: "unit" }, ...given.units.map((unit) => el("option", {}, unit)))),
      el("div", { class: "field" }, el("label", { for: "reading" }, "Reading, km"), el("input", { id: "reading", inputmode: "decimal", autocomplete: "off", oninput: () => askReading("") })),
      el("p", { class: "told", id: "wrong-reading", role: "alert" }),
      el("div", { class: "grid", id: "ask-reading", hidden: true }),
      el("button", { type: "button", class: "main", onclick: writeReading }, "Keep the reading"),
      el("h3", {}, "Note"),
      el("div", { class: "field" }, el("label", { for: "note" }, "In your words"), el("textarea", { id: "note", rows: "3", maxlength: "400" })),
      el("button", { type: "button", onclick: writeNote }, "Keep the note"),
      el("h3", {}, "Take it home"),
      el("p", { id: "many" }),
      el("div", { class: "grid" }, el("button", { type: "button", onclick: copy }, "Copy"), el("button", { type: "button", onclick: save }, "Save a file"),
        navigator.share ? el("button", { type: "button", onclick: share }, "Share") : null),
      el("p", { class: "fine" }, "At home: tripplan log FOLDER --from FILE. Given twice it counts once."),
      el("details", {}, el("summary", {}, "The text itself"), el("label", { class: "sr", for: "text" }, "Records as text"), el("textarea", { class: "text", id: "text", readonly: true, rows: "9" })),
      el("details", { id: "squares" }, el("summary", {}, "As squares for a camera"), el("div", { id: "square" })),
      el("h3", {}, "Written down"), el("div", { id: "list" }),
    );
    by("squares").addEventListener("toggle", showSquare);
  };

  // What is wrong or in doubt with the reading typed, and what it may be, each to be kept by its button.
  const askReading = (text, ...answers) => {
    by("wrong-reading").textContent = text;
    by("ask-reading").hidden = !answers.length;
    by("ask-reading").replaceChildren(...answers.map(([label, onclick]) => el("button", { type: "button", onclick }, label)));
  };

  // The last reading of a unit, of the folder or of this phone, whichever is later.
  const lastReading = (unit) => {
    const own = inOrder(live()).filter((one) => one.kind === "reading" && one.unit === unit).pop();
    const home = given.readings[unit];
    return own && (!home || dayOfRecord(own) >= home.day) ? { km: own.odometer_km, day: dayOfRecord(own) } : home;
  };

  const writeReading = () => {
    const typed = by("reading").value.trim();
    const found = numbers(typed).filter((km) => km < MOST_READING_KM);
    if (!found.length) return askReading("A reading is a number of km, e.g. 231540.");
    if (found.length === 1) return checkReading(found[0]);
    return askReading(`${typed}: is that ${found.map((km) => `${km} km`).join(", or ")}?`, ...found.map((km) => [`${km} km`, () => checkReading(km)]));
  };

  const checkReading = (km) => {
    const unit = by("unit").value;
    const last = lastReading(unit);
    if (!last || km >= last.km) return keepReading(km);
    return askReading(`${km} km is below the last reading of the ${unit}: ${last.km} km on ${dayWords(last.day)}. Is it right? At home it is not `
      + "taken in unless another instrument was fitted and that stands in the history.", [`Keep ${km} km`, () => keepReading(km)]);
  };

  const keepReading = async (km) => {
    askReading("");
    const record = made("reading", { unit: by("unit").value, odometer_km: km });
    await keep(record);
    by("reading").value = "";
    say(`Kept: ${words(record)}.`, record);
  };

  const writeNote = async () => {
    const note = by("note").value.trim();
    if (!note) return;
    const record = made("note", { note });
    await keep(record);
    by("note").value = "";
    say("Kept: the note.", record);
  };

  // What was kept last, with its undo under the thumb.
  const showSaid = () => {
    let bar = by("said");
    if (!bar) {
      bar = el("div", { id: "said", class: "said", role: "status" });
      document.querySelector(".parts").append(bar);
    }
    clearTimeout(state.hide);
    bar.hidden = false;
    const { text, id } = state.said;
    bar.replaceChildren(el("span", {}, text), id && state.unkept.has(id) ? null : (id && el("button", { type: "button", onclick: () => undo(id) }, "Undo")) || null);
    state.hide = setTimeout(() => { bar.hidden = true; }, 9000);
  };

  const show = () => {
    const held = document.activeElement && document.activeElement.dataset && document.activeElement.dataset.key;
    showJobs();
    showNow();
    showAdvice();
    showBook();
    if (state.fill) state.fill();
    if (held) {
      const again = document.querySelector(`section.here [data-key="${CSS.escape(held)}"]`);
      if (again && document.activeElement !== again) again.focus();
    }
  };

  // One part at a time, by its address.
  const go = () => {
    const wanted = by(decodeURIComponent(location.hash.slice(1))) || by("now");
    const section = wanted.closest("section") || by("now");
    for (const one of document.querySelectorAll("main > section")) one.classList.toggle("here", one === section);
    for (const link of document.querySelectorAll(".parts a")) {
      if (link.hash === `#${section.id}`) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
    }
    const place = section.id === "work" && wanted === section ? nextPlace() : null;
    if (place) {
      for (const one of section.querySelectorAll("details.place")) one.open = one === place.node;
      if (place.node === section.querySelector("details.place")) window.scrollTo(0, 0);
      else place.node.scrollIntoView();
    } else if (wanted.matches("details")) {
      for (const one of section.querySelectorAll("details.place")) one.open = one === wanted;
      const next = wanted.querySelector(".job.next") || wanted;
      next.scrollIntoView();
    } else if (wanted === section) window.scrollTo(0, 0);
    else wanted.scrollIntoView();
  };

  const begin = async () => {
    document.documentElement.classList.add("live");
    setUpJobs();
    go();
    window.addEventListener("hashchange", go);
    state.store = await Store.open(given.key);
    try {
      state.records = await state.store.all();
    } catch (_) {
      tell("The records of this phone cannot be read. What is written down now may not be kept.");
    }
    setUpWater();
    setUpBook();
    if (state.store.kind === "none") tell(KEPT.none);
    show();
    go();
    document.addEventListener("visibilitychange", async () => {
      if (document.visibilityState !== "visible") return;
      const others = await state.store.all();
      const known = new Set(state.records.map((one) => one.id));
      state.records.push(...others.filter((one) => !known.has(one.id)));
      show();
    });
    if (navigator.storage && navigator.storage.persist) navigator.storage.persist().catch(() => undefined);
    document.documentElement.dataset.ready = state.store.kind;
  };

  // What is asked for and open, as plain values: unit, item, position, window, act, only if a look finds it.
  const asked = () => advice().filter((one) => one.call)
    .map(({ call }) => [call.unit, call.item, call.position, call.rule.when, call.rule.act, call.contingent]);

  begin();
  return { asked };
})();
