"use strict";
// A ladder solved in the page: Kirchhoff's node equations at orders 1 to 10 for one ampere into the plate, then
// everything times the plate current, which is held. Amplitudes are peak values; SI units throughout.
const ladderModel = (() => {
  const ORDERS = 10, SAMPLES = 512;
  const mul = (a, b) => [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]];
  const inverse = (a) => { const s = a[0] * a[0] + a[1] * a[1]; return [a[0] / s, -a[1] / s]; };
  const size2 = (a) => a[0] * a[0] + a[1] * a[1];

  /** Return the admittance of a branch [S] at an order; `values` are those in force. */
  function admittance(kind, values, omega, order) {
    const [a, b] = values;
    if (kind === "C") return a > 0 ? mul([0, omega * a], inverse([1, omega * a * b])) : [0, 0];
    if (kind === "L") return inverse([b * Math.sqrt(order), omega * a]);
    if (kind === "D") return [1 / b, -1 / (omega * a)];
    if (kind === "R") return [1 / a, 0];
    return inverse(a[order - 1]);
  }

  /** Solve G v = i in place by elimination with pivots; G is square, of complex numbers. */
  function eliminate(g, v) {
    const n = v.length;
    for (let k = 0; k < n; k++) {
      let best = k;
      for (let r = k + 1; r < n; r++) if (size2(g[r][k]) > size2(g[best][k])) best = r;
      [g[k], g[best]] = [g[best], g[k]];
      [v[k], v[best]] = [v[best], v[k]];
      const over = inverse(g[k][k]);
      for (let r = k + 1; r < n; r++) {
        const f = mul(g[r][k], over);
        if (f[0] === 0 && f[1] === 0) continue;
        for (let c = k; c < n; c++) { const p = mul(f, g[k][c]); g[r][c] = [g[r][c][0] - p[0], g[r][c][1] - p[1]]; }
        const p = mul(f, v[k]);
        v[r] = [v[r][0] - p[0], v[r][1] - p[1]];
      }
    }
    for (let k = n - 1; k >= 0; k--) {
      for (let c = k + 1; c < n; c++) { const p = mul(g[k][c], v[c]); v[k] = [v[k][0] - p[0], v[k][1] - p[1]]; }
      v[k] = mul(v[k], inverse(g[k][k]));
    }
    return v;
  }

  /** Give each branch the values that the settings and the tap put in force. */
  function inForce(model, position, tune, load) {
    const set = { tune_capacitor: ["tune", tune], load_capacitor: ["load", load] };
    return model.branches.map(([name, kind, node, to, ...values]) => {
      if (name in set) {
        const [side, farad] = set[name], q = model.knobs[side].q;
        values = [farad, q === null || farad === 0 ? 0 : 1 / (2 * Math.PI * model.frequency * farad * q)];
      } else if (name in position.values) values = position.values[name];
      return { name, kind, node, to, values };
    });
  }

  /** Voltages across and currents through every branch for 1 A into the plate at one order. */
  function atOrder(model, branches, mutual, order) {
    const omega = 2 * Math.PI * model.frequency * order, n = model.nodes.length;
    const at = Object.fromEntries(model.nodes.map((name, k) => [name, k]));
    const g = Array.from({ length: n }, () => Array.from({ length: n }, () => [0, 0]));
    const stamp = (from, to, y) => {  // y drives current from one pair of nodes by the voltage of another
      for (const [row, a] of [[from.node, 1], [from.to, -1]]) for (const [column, b] of [[to.node, 1], [to.to, -1]]) {
        if (row === null || column === null) continue;
        const cell = g[at[row]][at[column]];
        cell[0] += a * b * y[0]; cell[1] += a * b * y[1];
      }
    };
    const pair = mutual ? ["coil", "output_coil"].map((name) => branches.find((b) => b.name === name)) : [];
    let own = null;
    if (mutual) {  // two windings that share flux: the inverse of their matrix of impedances
      const z = pair.map((b) => [b.values[1] * Math.sqrt(order), omega * b.values[0]]), zm = [0, omega * mutual];
      const d = mul(z[0], z[1]), m = mul(zm, zm), over = inverse([d[0] - m[0], d[1] - m[1]]);
      const cross = mul([-zm[0], -zm[1]], over);
      own = [[mul(z[1], over), cross], [cross, mul(z[0], over)]];
      pair.forEach((a, i) => pair.forEach((b, j) => stamp(a, b, own[i][j])));
    }
    for (const b of branches) if (!pair.includes(b)) {
      b.y = admittance(b.kind, b.values, omega, order);
      stamp(b, b, b.y);
    }
    const v = eliminate(g, model.nodes.map((_, k) => (k === 0 ? [1, 0] : [0, 0])));
    const across = (b) => {
      const one = v[at[b.node]], two = b.to === null ? [0, 0] : v[at[b.to]];
      return [one[0] - two[0], one[1] - two[1]];
    };
    const found = {};
    for (const b of branches) found[b.name] = { v: across(b), i: null };
    for (const b of branches) if (!pair.includes(b)) found[b.name].i = mul(b.y, found[b.name].v);
    pair.forEach((b, k) => {
      const sums = pair.map((other, j) => mul(own[k][j], found[other.name].v));
      found[b.name].i = [sums[0][0] + sums[1][0], sums[0][1] + sums[1][1]];
    });
    return { found, plate: v[0] };
  }

  const COS = Array.from({ length: SAMPLES }, (_, k) => Math.cos(2 * Math.PI * k / SAMPLES));
  const SIN = Array.from({ length: SAMPLES }, (_, k) => Math.sin(2 * Math.PI * k / SAMPLES));

  /** The largest magnitude over a period of a DC and a sum of phasors. */
  function peak(phasors, direct) {
    let most = 0;
    for (let k = 0; k < SAMPLES; k++) {
      let value = direct;
      for (let n = 1; n <= ORDERS; n++) {
        const turn = (n * k) % SAMPLES;
        value += phasors[n - 1][0] * COS[turn] - phasors[n - 1][1] * SIN[turn];
      }
      most = Math.max(most, Math.abs(value));
    }
    return most;
  }

  /** Heat and reactive power of one branch, all orders together. */
  function powers(branch, model, volts, amperes) {
    let heat = 0, reactive = 0;
    const [a, b] = branch.values;
    for (let n = 1; n <= ORDERS; n++) {
      const i2 = size2(amperes[n - 1]) / 2;
      if (branch.kind === "L") heat += i2 * b * Math.sqrt(n);
      else if (branch.kind === "D") heat += size2(volts[n - 1]) / (2 * b);
      else if (branch.kind === "C") { heat += i2 * b; if (a > 0) reactive += i2 / (2 * Math.PI * model.frequency * n * a); }
    }
    return { heat, reactive };
  }

  /** Solve one band at a tap and two settings [F]. */
  function solve(model, tap, tune, load) {
    const position = model.positions[tap], branches = inForce(model, position, tune, load);
    const orders = Array.from({ length: ORDERS }, (_, k) => atOrder(model, branches, position.mutual, k + 1));
    const z = orders[0].plate, s = Math.min(1, model.reference / Math.hypot(z[0], z[1]));
    const drive = model.current.map((i) => [-s * i[0], -s * i[1]]);
    const stress = {};
    for (const part of model.parts) if (part.branch !== null) {
      const branch = branches.find((b) => b.name === part.branch);
      const volts = orders.map((o, k) => mul(o.found[part.branch].v, drive[k]));
      const amperes = orders.map((o, k) => mul(o.found[part.branch].i, drive[k]));
      const square = amperes.reduce((sum, i) => sum + size2(i) / 2, part.direct ? (s * model.direct) ** 2 : 0);
      const { heat, reactive } = powers(branch, model, volts, amperes);
      stress[part.name] = {
        voltage_peak: peak(volts, part.supply ? model.supply : 0), current_rms: Math.sqrt(square),
        loss: heat, reactive_power: branch.kind === "C" ? reactive : null,
      };
    }
    if (model.parts.some((part) => part.name === "band_switch")) {
      const highest = (key, share) => Math.max(...position.switch.filter(([name]) => stress[name]).map((d) => stress[d[0]][key] * d[share]));
      const paddings = ["tune_padding", "load_padding"].map((name) => (stress[name] ? stress[name].current_rms : 0));
      stress.band_switch = { voltage_peak: highest("voltage_peak", 1), current_rms: Math.max(highest("current_rms", 2), ...paddings), loss: 0, reactive_power: null };
    }
    const antenna = branches[branches.length - 1];
    const output = size2(mul(orders[0].found.antenna.i, drive[0])) * antenna.values[1] / 2;
    const omega = 2 * Math.PI * model.frequency, side = model.plateSide;
    const capacitance = side.fixed + tune / (1 - omega * omega * side.lead * tune);
    const loadedQ = model.plateLoad * (omega * capacitance - (side.choke === null ? 0 : 1 / (omega * side.choke)));
    const r = Math.hypot(z[0] - model.plateLoad, z[1]) / Math.hypot(z[0] + model.plateLoad, z[1]);
    return { z, swr: (1 + r) / (1 - r), loadedQ, output, stress };
  }
  return { solve };
})();
