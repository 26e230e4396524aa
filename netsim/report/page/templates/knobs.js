// Two knobs and a tap for each band, worked by the ladder above. The page is whole without them.
(() => {
  const models = JSON.parse(document.getElementById("models").textContent);
  const MARKS = { over: "▲", close: "◆", pass: "✓", not_rated: "○" };
  const WORDS = { over: "over", close: "close", pass: "pass", not_rated: "not rated" };
  const QUANTITIES = {
    voltage_peak: ["voltage", "V", " pk"], current_rms: ["current", "A", " rms"],
    loss: ["heat", "W", ""], reactive_power: ["reactive power", "VA", ""],
  };
  const PREFIXES = { "-12": "p", "-9": "n", "-6": "µ", "-3": "m", 0: "", 3: "k", 6: "M" };
  const STEPS = 2000;

  function written(value, unit) {
    if (!Number.isFinite(value)) return "–";
    if (value === 0) return `0 ${unit}`;
    const three = Number(value.toPrecision(3));
    const exponent = Math.min(6, Math.max(-12, 3 * Math.floor(Math.log10(Math.abs(three)) / 3)));
    return `${(three / 10 ** exponent).toPrecision(3)} ${PREFIXES[exponent]}${unit}`;
  }
  const percent = (used) => (used < 0.001 ? "< 0.1 %" : `${(100 * used).toPrecision(3)} %`);
  const plain = (value) => (Math.abs(value) >= 100 ? value.toFixed(0) : Math.abs(value) < 5e-4 ? "0" : value.toPrecision(3));

  function element(tag, attributes = {}, ...children) {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
    made.append(...children);
    return made;
  }

  /** Settings lie closer together at the low end of a knob, where the high bands are. */
  const farads = (knob, step) => knob.least + (knob.most - knob.least) * (step / STEPS) ** 2;
  const stepOf = (knob, value) => Math.round(STEPS * Math.sqrt((value - knob.least) / (knob.most - knob.least || 1)));

  /** Name the most used rating of a part, and by how much. */
  function judge(part, stress, model) {
    let worst = null;
    for (const [quantity, limit] of Object.entries(part.limits)) {
      const value = stress[quantity] * (quantity === "loss" ? model.duty : 1), used = value / limit;
      if (worst === null || used > worst.used) worst = { quantity, limit, value, used };
    }
    return worst;
  }
  const stateOf = (used, close) => (used > 1 ? "over" : used > close ? "close" : "pass");

  function panel(model) {
    const section = document.getElementById(model.anchor), place = section.querySelector(".turning");
    const chart = section.querySelector(`svg[aria-labelledby^="${model.anchor}-smith-title"]`);
    const now = { tap: model.own, tune: model.knobs.tune.set, load: model.knobs.load.set };
    const id = (name) => `${model.anchor}-${name}`;
    const dot = document.createElementNS("http://www.w3.org/2000/svg", "circle");
    dot.setAttribute("class", "turned");
    dot.setAttribute("r", "6");
    if (chart) chart.append(dot);

    const knobs = {}, outputs = {};
    for (const side of ["tune", "load"]) {
      knobs[side] = element("input", { type: "range", min: 0, max: STEPS, step: 1, id: id(side) });
      outputs[side] = element("output", { for: id(side) });
      knobs[side].addEventListener("input", () => {
        now[side] = farads(model.knobs[side], Number(knobs[side].value));
        show();
      });
    }
    const taps = element("select", { id: id("tap") });
    model.positions.forEach((position, k) => taps.append(element("option", { value: k }, position.name)));
    taps.addEventListener("change", () => { now.tap = Number(taps.value); show(); });
    const back = element("button", { type: "button" }, "Back to the tuned settings");
    back.addEventListener("click", () => {
      Object.assign(now, { tap: model.own, tune: model.knobs.tune.set, load: model.knobs.load.set });
      show();
    });
    const figures = element("dl", { class: "facts" }), rows = element("tbody");
    const spoken = element("p", { class: "unseen", role: "status" });
    const table = element("table", { class: "sheet" },
      element("caption", {}, "Parts at these settings, the most used rating of each"),
      element("thead", {}, element("tr", {}, ...["Part", "Used", "Value", "Rated"].map((head) => element("th", { scope: "col" }, head)))),
      rows);
    place.append(
      element("h4", {}, `Turn the knobs on ${model.band}: a model`),
      element("p", { class: "lead" }, `At ${written(model.frequency, "Hz")} into the matched antenna. ${model.tube
        ? "The plate current keeps the shape in which it settles at the tuned setting, which a real tube would leave; the figures of the meters below show what it does."
        : "The plate current is the pulse of the conduction angle."} It falls where the plate would have to swing further than it can. Plate heat and voltages with the antenna off are not followed here.`),
      element("div", { class: "knobs" },
        ...["tune", "load"].map((side) => element("p", {},
          element("label", { for: id(side) }, `${side === "tune" ? "Tune" : "Load"} capacitor, ${written(model.knobs[side].least, "F")} to ${written(model.knobs[side].most, "F")}`), knobs[side], outputs[side])),
        element("p", {}, element("label", { for: id("tap") }, "Tap of"), taps, back)),
      figures, spoken, element("div", { class: "scroll", role: "region", tabindex: "0", "aria-label": `Parts on ${model.band} at these settings` }, table));
    place.hidden = false;

    let timer = 0;
    function show() {
      const found = ladderModel.solve(model, now.tap, now.tune, now.load);
      for (const side of ["tune", "load"]) {
        const text = written(now[side], "F");
        knobs[side].value = stepOf(model.knobs[side], now[side]);
        knobs[side].setAttribute("aria-valuetext", text);
        outputs[side].textContent = text;
      }
      taps.value = now.tap;
      const [low, high] = model.window, q = found.loadedQ;
      const told = [
        ["plate sees", `${plain(found.z[0])} ${found.z[1] < 0 ? "−" : "+"} j${plain(Math.abs(found.z[1]))} Ω, wanted ${plain(model.plateLoad)} Ω`],
        ["SWR at the plate", plain(found.swr)],
        ["loaded Q", `${plain(q)}, ${q < low || q > high ? "outside" : "within"} ${low} to ${high}`],
        ["output", written(found.output, "W")],
      ];
      figures.replaceChildren(...told.map(([name, value]) => element("div", {}, element("dt", {}, name), element("dd", {}, value))));
      const over = [];
      rows.replaceChildren(...model.parts.map((part) => {
        const worst = judge(part, found.stress[part.name], model);
        const state = worst === null ? "not_rated" : stateOf(worst.used, model.close);
        if (state === "over") over.push(part.label);
        const [name, unit, kind] = worst === null ? ["", "", ""] : QUANTITIES[worst.quantity];
        return element("tr", { class: state }, element("th", { scope: "row" }, part.label),
          element("td", { class: "state" }, `${MARKS[state]} ${worst === null ? "" : percent(worst.used)} ${WORDS[state]}`),
          element("td", {}, worst === null ? "–" : `${name} ${written(worst.value, unit)}${kind}`),
          element("td", {}, worst === null ? "–" : `${written(worst.limit, unit)}${kind}`));
      }));
      if (chart) {
        const box = chart.viewBox.baseVal, zr = found.z[0], zi = found.z[1], r0 = model.chart;
        const d = (zr + r0) ** 2 + zi ** 2, real = (zr * zr - r0 * r0 + zi * zi) / d, imaginary = 2 * zi * r0 / d;
        const place = (value) => 0.01 + 0.98 * (value + 1.04) / 2.08;
        dot.setAttribute("cx", box.x + box.width * place(real));
        dot.setAttribute("cy", box.y + box.height * (1 - place(imaginary)));
      }
      clearTimeout(timer);
      timer = setTimeout(() => {
        spoken.textContent = `SWR ${plain(found.swr)}, loaded Q ${plain(q)}, output ${written(found.output, "W")}, ${over.length ? `over: ${over.join(", ")}` : "no part of the network over its rating; what the tube does then is not followed here"}`;
      }, 400);
    }
    section.addEventListener("toggle", () => { if (section.open) show(); }, { once: true });
    if (section.open) show();
  }
  for (const model of models) panel(model);
})();
