// Draws the building as it stands in the form, isometric, from two opposite corners. A picture to check what was typed, not the survey.
"use strict";

const ISO = { right: Math.SQRT1_2, up: 1 / Math.sqrt(6) };
const ROOF_CELLS = 26;

function storeysOf(form) {
  let floor = 0;
  return rowsAt(form, "/building/storeys").flatMap((row) => {
    const at = `/building/storeys/${row}`;
    const long = lengthAt(form, `${at}/_long`), deep = lengthAt(form, `${at}/_deep`);
    const plan = valueAt(form, `${at}/_long`) !== null
      ? (long > 0 && deep > 0 ? [[0, 0], [long, 0], [long, deep], [0, deep]] : [])
      : rowsAt(form, `${at}/footprint_mm`).map((corner) => [lengthAt(form, `${at}/footprint_mm/${corner}/0`), lengthAt(form, `${at}/footprint_mm/${corner}/1`)]);
    const height = lengthAt(form, `${at}/height_mm`);
    if (plan.length < 3 || plan.some((corner) => corner.includes(null)) || height === null || height < 0) return [];
    const names = plan.map((_, wall) => valueAt(form, `${at}/wall_names/${wall}`) || `wall-${wall + 1}`);
    const turned = plan.reduce((sum, [x, y], place) => { const [u, v] = plan[(place + 1) % plan.length]; return sum + x * v - y * u; }, 0) < 0;
    if (turned) { plan.reverse(); names.reverse(); names.push(names.shift()); }
    const zone = lengthAt(form, `${at}/floor_zone_mm`) ?? 300;
    const said = lengthAt(form, `${at}/floor_at_mm`);
    const base = said ?? (floor ? floor + zone : 0);
    floor = base + height;
    return [{ at, id: valueAt(form, `${at}/id`), plan, names, base, height, roof: roofOf(form, at, plan, names) }];
  });
}

function roofOf(form, at, plan, names) {
  const shape = valueAt(form, `${at}/roof/form`);
  const pitch = Number(valueAt(form, `${at}/roof/pitch_deg`)?.replace(",", "."));
  if (!shape || shape === "flat" || !(pitch > 0 && pitch < 86)) return null;
  const gables = (valueAt(form, `${at}/roof/gables`) ?? "").split(/[,\s]+/).filter(Boolean);
  const sides = plan.map(([x, y], wall) => { const [u, v] = plan[(wall + 1) % plan.length]; return Math.hypot(u - x, v - y); });
  let upright = names.map((name) => gables.includes(name));
  if (["gable", "gambrel", "half_hip"].includes(shape) && !gables.length && plan.length === 4) upright = sides.map((_, wall) => (sides[0] >= sides[1] ? wall % 2 === 1 : wall % 2 === 0));
  if (shape === "hip") upright = names.map(() => false);
  const slope = Math.tan((pitch * Math.PI) / 180);
  const low = shape === "mono_pitch" ? Math.max(0, names.indexOf(valueAt(form, `${at}/roof/low_wall`))) : null;
  const upper = Number(valueAt(form, `${at}/roof/upper_pitch_deg`)) || 20;
  return {
    level: valueAt(form, `${at}/roof/layer`) === "joists", slope, upright, low,
    breakAt: shape === "gambrel" ? lengthAt(form, `${at}/roof/break_mm`) : null, upper: Math.tan((upper * Math.PI) / 180),
    collar: lengthAt(form, `${at}/roof/collar_mm`),
    halfHip: shape === "half_hip" ? lengthAt(form, `${at}/roof/half_hip_mm`) : null,
  };
}

// Rise of the roof over the eave at a point: the lowest of the planes that go up from the walls. Straight up to the walls'
// ends alone, so that an L keeps its valley.
function riseAt(storey, x, y) {
  const { plan, roof } = storey;
  const lift = (from) => {
    const rise = from * roof.slope;
    if (roof.breakAt === null) return rise;
    const turn = Math.max(0, roof.breakAt - storey.height);
    return rise <= turn ? rise : turn + (rise - turn) * (roof.upper / roof.slope);
  };
  let best = Infinity, wall = 0;
  plan.forEach(([x0, y0], place) => {
    if (roof.low !== null && place !== roof.low) return;
    if (roof.upright[place] && roof.halfHip === null && roof.low === null) return;
    const [x1, y1] = plan[(place + 1) % plan.length], long = Math.hypot(x1 - x0, y1 - y0);
    const along = ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / long, square = ((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) / long;
    if (square < -1) return;
    const past = Math.max(0, -along, along - long);
    let rise = lift(roof.low !== null ? square : Math.max(square, past));
    if (roof.upright[place] && roof.low === null) rise += Math.max(0, roof.halfHip - storey.height);
    if (rise < best) { best = rise; wall = place; }
  });
  if (roof.collar !== null) best = Math.min(best, roof.collar - storey.height);
  return [best === Infinity ? 0 : Math.max(0, best), wall];
}

// The footprint cut along a line a·x + b·y = c, keeping where it is at most c.
function clipped(plan, a, b, c) {
  const kept = [];
  plan.forEach(([x0, y0], place) => {
    const [x1, y1] = plan[(place + 1) % plan.length], one = a * x0 + b * y0 - c, other = a * x1 + b * y1 - c;
    if (one <= 0) kept.push([x0, y0]);
    if (one < 0 !== other < 0 && one !== other) { const t = one / (one - other); kept.push([x0 + t * (x1 - x0), y0 + t * (y1 - y0)]); }
  });
  return kept;
}

function isConvex(plan) {
  return plan.every(([x, y], place) => {
    const [u, v] = plan[(place + 1) % plan.length], [s, t] = plan[(place + 2) % plan.length];
    return (u - x) * (t - v) - (v - y) * (s - u) >= 0;
  });
}

// Roof faces as lists of [x, y, z]: exact over a convex footprint with plain slopes, else a fine grid.
function roofFaces(storey) {
  const { plan, roof } = storey, eave = storey.base + storey.height;
  const ceiling = { points: plan.map(([x, y]) => [x, y, eave]) };
  if (!roof) return [ceiling];
  if (roof.level) return [ceiling, ...slopeFaces(storey, eave).map((face) => ({ ...face, unlined: true }))];
  return slopeFaces(storey, eave);
}

function slopeFaces(storey, eave) {
  const { plan, roof } = storey;
  const z = (x, y) => eave + riseAt(storey, x, y)[0];
  if (isConvex(plan) && roof.breakAt === null && roof.halfHip === null) {
    const planes = plan.flatMap(([x0, y0], place) => {
      if (roof.low !== null ? place !== roof.low : roof.upright[place]) return [];
      const [x1, y1] = plan[(place + 1) % plan.length], long = Math.hypot(x1 - x0, y1 - y0);
      const a = (-(y1 - y0) / long) * roof.slope, b = ((x1 - x0) / long) * roof.slope;
      return [{ a, b, c: -(a * x0 + b * y0) }];
    });
    if (roof.collar !== null && roof.collar > storey.height) planes.push({ a: 0, b: 0, c: roof.collar - storey.height });
    if (planes.length) return planes.flatMap((plane, own) => {
      let face = plan;
      planes.forEach((other, place) => { if (place !== own) face = clipped(face, plane.a - other.a, plane.b - other.b, other.c - plane.c); });
      return face.length > 2 ? [{ points: face.map(([x, y]) => [x, y, eave + plane.a * x + plane.b * y + plane.c]) }] : [];
    });
  }
  const xs = plan.map(([x]) => x), ys = plan.map(([, y]) => y), left = Math.min(...xs), low = Math.min(...ys);
  const wide = (Math.max(...xs) - left) / ROOF_CELLS, deep = (Math.max(...ys) - low) / ROOF_CELLS, faces = [];
  for (let i = 0; i < ROOF_CELLS; i++) for (let j = 0; j < ROOF_CELLS; j++) {
    const x = left + i * wide, y = low + j * deep;
    let cell = plan;
    for (const [a, b, c] of [[-1, 0, -x], [1, 0, x + wide], [0, -1, -y], [0, 1, y + deep]]) cell = clipped(cell, a, b, c);
    if (cell.length > 2) faces.push({ points: cell.map(([u, v]) => [u, v, z(u, v)]), fine: true });
  }
  return faces;
}

function wallFaces(storey) {
  const { plan, names, roof, base, height } = storey;
  return plan.map(([x0, y0], place) => {
    const [x1, y1] = plan[(place + 1) % plan.length], top = [];
    if (roof && !roof.level) {
      const steps = 24;
      for (let step = steps; step >= 0; step--) {
        const t = step / steps, x = x0 + t * (x1 - x0), y = y0 + t * (y1 - y0);
        top.push([x, y, base + height + riseAt(storey, x, y)[0]]);
      }
    } else top.push([x1, y1, base + height], [x0, y0, base + height]);
    return { name: names[place], base, points: [[x0, y0, base], [x1, y1, base], ...top] };
  });
}

function holesOf(form, storeys) {
  return rowsAt(form, "/building/openings").flatMap((row) => {
    const at = `/building/openings/${row}`;
    const wall = valueAt(form, `${at}/wall`), storey = valueAt(form, `${at}/storey`);
    const left = lengthAt(form, `${at}/from_left_mm`), up = lengthAt(form, `${at}/_up`), wide = lengthAt(form, `${at}/width_mm`), high = lengthAt(form, `${at}/height_mm`);
    if (valueAt(form, `${at}/_on`) !== "wall" || left === null || up === null || !(wide > 0) || !(high > 0)) return [];
    const on = storeys.find((one) => one.names.includes(wall) && (!storey || one.id === storey));
    if (!on) return [];
    const place = on.names.indexOf(wall), [x0, y0] = on.plan[place], [x1, y1] = on.plan[(place + 1) % on.plan.length], long = Math.hypot(x1 - x0, y1 - y0);
    const point = (s, z) => [x1 + (s / long) * (x0 - x1), y1 + (s / long) * (y0 - y1), on.base + z]; // from the left as seen from inside
    return [{ storey: on, wall: place, points: [point(left, up), point(left + wide, up), point(left + wide, up + high), point(left, up + high)] }];
  });
}

// A place over a wall: `along` from its left end as seen from inside, `inward` level from it.
function placeOver(storey, wall) {
  const [x0, y0] = storey.plan[wall], [x1, y1] = storey.plan[(wall + 1) % storey.plan.length], long = Math.hypot(x1 - x0, y1 - y0);
  return (along, inward) => [x1 + (along * (x0 - x1) - inward * (y1 - y0)) / long, y1 + (along * (y0 - y1) + inward * (x1 - x0)) / long];
}

// The level distance from the wall at which the slope over it is `rise` over the eave; where it never is, that of its highest point.
function inwardAt(storey, place, along, rise) {
  const lift = (inward) => riseAt(storey, ...place(along, inward))[0];
  let best = 0;
  for (let inward = 0; inward < 60000; inward += 50) {
    if (lift(inward) >= rise) return inward;
    if (lift(inward) > lift(best)) best = inward;
    else if (inward - best > 2000) break;
  }
  return best;
}

// Dormers on the slopes that are drawn, each with its front, its cheeks and its roof; windows in the front come with it.
function dormerFaces(form, storey) {
  if (!storey.roof || storey.roof.level) return [];
  return rowsAt(form, `${storey.at}/dormers`).flatMap((row) => {
    const at = `${storey.at}/dormers/${row}`, name = valueAt(form, `${at}/id`), wall = storey.names.indexOf(valueAt(form, `${at}/wall`));
    const left = lengthAt(form, `${at}/from_left_mm`), wide = lengthAt(form, `${at}/width_mm`), high = lengthAt(form, `${at}/height_mm`);
    const back = lengthAt(form, `${at}/set_back_mm`) ?? 0, shape = valueAt(form, `${at}/roof`);
    if (wall < 0 || left === null || !(wide > 0) || !(high > storey.height) || back < 0) return [];
    const pitch = Math.tan((Number(valueAt(form, `${at}/pitch_deg`)?.replace(",", ".")) || 0) * (Math.PI / 180));
    const place = placeOver(storey, wall), right = left + wide, middle = left + wide / 2, eave = storey.base + storey.height;
    const rise = (inward) => riseAt(storey, ...place(middle, inward))[0];
    const top = storey.base + high, foot = eave + rise(back);
    if (top <= foot) return [];
    const point = (along, inward, z) => [...place(along, inward), z];
    const ridge = shape === "gable" ? top + (wide / 2) * pitch : top;
    let deep = inwardAt(storey, place, middle, high - storey.height), end = top;
    if (shape === "mono_pitch" && pitch < storey.roof.slope) {
      for (let step = 0; step < 40; step++) deep = inwardAt(storey, place, middle, top + (deep - back) * pitch - eave);
      end = top + (deep - back) * pitch;
    }
    const far = ridge > top ? inwardAt(storey, place, middle, ridge - eave) : deep;
    const lies = [point(right, back, foot), point(left, back, foot), point(left, deep, eave + rise(deep)), point(right, deep, eave + rise(deep))];
    const face = (kind, points, holes = []) => ({ kind, points, holes, base: storey.base + 0.5, on: lies });
    const front = [point(right, back, foot), point(left, back, foot), point(left, back, top), ...(ridge > top ? [point(middle, back, ridge)] : []), point(right, back, top)];
    const roof = ridge > top
      ? [[point(middle, back, ridge), point(left, back, top), point(left, deep, top), point(middle, far, ridge)], [point(right, back, top), point(middle, back, ridge), point(middle, far, ridge), point(right, deep, top)]]
      : [[point(right, back, top), point(left, back, top), point(left, deep, end), point(right, deep, end)]];
    return [
      ...roof.map((points) => face("roof-face", points)),
      face("wall-face", [point(left, back, foot), point(left, deep, end), point(left, back, top)]),
      face("wall-face", [point(right, deep, end), point(right, back, foot), point(right, back, top)]),
      face("wall-face", front, frontHoles(form, storey, name, (along, up) => point(left + along, back, storey.base + up))),
    ];
  });
}

function frontHoles(form, storey, name, point) {
  return rowsAt(form, "/building/openings").flatMap((row) => {
    const hole = placedHole(form, `/building/openings/${row}`, storey);
    return hole && hole.on === "wall" && hole.wall === name ? [{ points: boxOf(point, hole) }] : [];
  });
}

// What lies in a slope or a ceiling: rooflights and hatches.
function lyingFaces(form, storey) {
  return rowsAt(form, "/building/openings").flatMap((row) => {
    const hole = placedHole(form, `/building/openings/${row}`, storey), wall = hole ? storey.names.indexOf(hole.wall) : -1;
    const lined = storey.roof && !storey.roof.level, eave = storey.base + storey.height;
    if (wall < 0 || !(hole.on === "slope" ? lined : hole.on === "ceiling")) return [];
    const place = placeOver(storey, wall), shorter = hole.on === "slope" ? 1 / Math.hypot(1, storey.roof.slope) : 1;
    const level = storey.roof?.collar ? storey.base + storey.roof.collar : eave;
    const point = (along, up) => {
      const at = place(along, up * shorter);
      return [...at, hole.on === "slope" ? eave + riseAt(storey, ...at)[0] : lined ? level : eave];
    };
    return [{ kind: "opening", points: boxOf(point, hole).reverse(), holes: [], base: storey.base + 0.4 }];
  });
}

function placedHole(form, at, storey) {
  const on = valueAt(form, `${at}/_on`), wall = valueAt(form, `${at}/wall`), said = valueAt(form, `${at}/storey`);
  const [left, up, wide, high] = ["from_left_mm", "_up", "width_mm", "height_mm"].map((name) => lengthAt(form, `${at}/${name}`));
  if (left === null || up === null || !(wide > 0) || !(high > 0) || (said && said !== storey.id)) return null;
  return { on, wall, left, up, wide, high };
}

function boxOf(point, { left, up, wide, high }) {
  return [point(left, up), point(left + wide, up), point(left + wide, up + high), point(left, up + high)];
}

// Internal walls stand behind the outer ones: their edges, to be drawn as hidden lines.
function insideEdges(form, storey) {
  return rowsAt(form, `${storey.at}/partitions`).flatMap((row) => {
    const at = `${storey.at}/partitions/${row}`;
    const [x0, y0, x1, y1] = ["from_mm/0", "from_mm/1", "to_mm/0", "to_mm/1"].map((name) => lengthAt(form, `${at}/${name}`));
    if ([x0, y0, x1, y1].includes(null) || (x0 === x1 && y0 === y1)) return [];
    const top = storey.base + storey.height;
    return [[[x0, y0, storey.base], [x1, y1, storey.base], [x1, y1, top], [x0, y0, top]]];
  });
}

function drawHouse(box, form) {
  const storeys = storeysOf(form);
  box.replaceChildren();
  if (!storeys.length) {
    box.append(Object.assign(document.createElement("p"), { className: "soft", textContent: "Type a footprint and a height to see the building." }));
    return;
  }
  const holes = holesOf(form, storeys), faces = [];
  for (const storey of storeys) {
    wallFaces(storey).forEach((wall, place) => faces.push({ ...wall, kind: "wall-face", label: storey === storeys[0] ? wall.name : "", holes: holes.filter((hole) => hole.storey === storey && hole.wall === place) }));
    faces.push(...dormerFaces(form, storey), ...lyingFaces(form, storey));
    for (const roof of roofFaces(storey)) faces.push({ ...roof, kind: roof.unlined ? "roof-face unlined" : "roof-face", base: storey.base + (roof.unlined ? 1 : 0), holes: [] });
  }
  const inside = storeys.flatMap((storey) => insideEdges(form, storey));
  const views = [1, -1].map((side) => viewOf(faces, inside, side));
  const wide = Math.max(...views.map((view) => view.right - view.left)), gap = 0.06 * wide;
  const high = Math.max(...views.map((view) => view.bottom - view.top));
  const above = matchMedia("(min-width: 60rem)").matches; // beside the form the picture has height, on a phone width
  const size = (above ? 0.04 : 0.075) * wide; // of letters, to be read where the picture is small
  const sheet = above ? [wide, 2 * (high + 2 * size) + gap] : [2 * wide + gap, high + 2 * size];
  const svg = element("svg", { class: "house", viewBox: `0 0 ${sheet.join(" ")}`, role: "img", "aria-label": inWords(storeys, holes) });
  views.forEach((view, number) => {
    const right = above ? 0 : number * (wide + gap), down = above ? number * (high + 2 * size + gap) : 0;
    const group = element("g", { transform: `translate(${right + (wide - view.right + view.left) / 2 - view.left} ${down + high + size - view.bottom})` });
    for (const face of view.faces) {
      group.append(element("path", { class: `${face.kind} ${face.fine ? "" : "face"}`, d: face.d }));
      for (const hole of face.holes) group.append(element("path", { class: "opening", d: hole.d }));
      if (face.name) group.append(element("text", { x: face.at[0] + (face.at[0] < (view.left + view.right) / 2 ? -1 : 1) * size, y: face.at[1] + 1.3 * size, "font-size": size, "text-anchor": "middle" }, face.name));
    }
    for (const hidden of view.inside) group.append(element("path", { class: "inside", d: hidden }));
    svg.append(group);
  });
  box.append(svg);
}

// What the picture shows, for who cannot see it: every storey with its size, roof and openings.
function inWords(storeys, holes) {
  const said = storeys.map((one) => {
    const size = ["x", "y"].map((_, axis) => { const all = one.plan.map((corner) => corner[axis]); return sayLength(Math.max(...all) - Math.min(...all)); });
    const own = holes.filter((hole) => hole.storey === one).length;
    return `${one.id || "storey"}, ${size.join(" by ")}, ${sayLength(one.height)} high, ${one.roof ? "under a roof" : "with a level ceiling"}, ${own} ${own === 1 ? "opening" : "openings"} in its walls`;
  });
  return `The building from two sides: ${said.join("; ")}.`;
}

// Isometric (ISO 5456-3): seen from x+, y− and above, or from the opposite corner.
function viewOf(faces, inside, side) {
  const flat = ([x, y, z]) => [side * (x + y) * ISO.right, -(side * (y - x) + 2 * z) * ISO.up];
  const near = ([x, y, z]) => side * (x - y) + z;
  const path = (points) => `M${points.map((point) => flat(point).map((n) => n.toFixed(1)).join(" ")).join("L")}Z`;
  const shown = faces
    .filter((face) => facesEye(face.points.map(flat)) && (!face.on || lookedAt(face.on, near) > 0.1)) // what stands on a slope turned away, or seen edge-on, is left to the other view
    .map((face) => ({
      kind: face.kind, name: face.label, fine: face.fine, d: path(face.points), base: face.base, depth: mean(face.points.map(near)),
      at: face.label ? flat([(face.points[0][0] + face.points[1][0]) / 2, (face.points[0][1] + face.points[1][1]) / 2, face.base]) : null,
      holes: face.holes.map((hole) => ({ d: path(hole.points) })),
    }))
    .sort((one, other) => one.base - other.base || one.depth - other.depth);
  const all = faces.flatMap((face) => face.points.map(flat)), xs = all.map(([x]) => x), ys = all.map(([, y]) => y);
  return { faces: shown, inside: inside.map(path), left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys), bottom: Math.max(...ys) };
}

// How straight a plane is looked at: 1 from square above it, 0 along it, less from behind.
function lookedAt([[x0, y0, z0], [x1, y1, z1], [x2, y2, z2]], near) {
  const [a, b, c] = [x1 - x0, y1 - y0, z1 - z0], [u, v, w] = [x2 - x0, y2 - y0, z2 - z0];
  const square = [b * w - c * v, c * u - a * w, a * v - b * u];
  return near(square) / (Math.sqrt(3) * Math.hypot(...square));
}

function facesEye(points) {
  return points.reduce((sum, [x, y], place) => { const [u, v] = points[(place + 1) % points.length]; return sum + x * v - y * u; }, 0) < 0;
}

function mean(values) { return values.reduce((sum, value) => sum + value, 0) / values.length; }
