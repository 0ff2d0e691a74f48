// Draws a surface as it stands in the form: outline with numbered corners and edges, timbers, openings, what passes through.
"use strict";

function outlineAt(form, at) {
  const wide = lengthAt(form, `${at}/_wide`), high = lengthAt(form, `${at}/_high`);
  if (valueAt(form, `${at}/_wide`) !== null) return wide > 0 && high > 0 ? [[0, 0], [wide, 0], [wide, high], [0, high]] : [];
  const corners = rowsAt(form, `${at}/outline_mm`).map((row) => [lengthAt(form, `${at}/outline_mm/${row}/0`), lengthAt(form, `${at}/outline_mm/${row}/1`)]);
  return corners.every(([u, v]) => u !== null && v !== null) ? corners : [];
}

function openingAt(form, hole) {
  const listed = valueAt(form, `${hole}/_corners`);
  if (listed) {
    const corners = listed.split(";").filter((part) => part.trim()).map((part) => part.split(",").map(readLength));
    return corners.every((corner) => corner.length === 2 && corner.every((axis) => axis !== null)) ? corners : [];
  }
  const [left, low, wide, high] = ["_left", "_low", "_wide", "_high"].map((name) => lengthAt(form, `${hole}/${name}`));
  if (left === null || low === null || !(wide > 0) || !(high > 0)) return [];
  return [[left, low], [left + wide, low], [left + wide, low + high], [left, low + high]];
}

function inside([u, v], outline) {
  let odd = false;
  outline.forEach(([u0, v0], place) => {
    const [u1, v1] = outline[(place + 1) % outline.length];
    if (v0 > v !== v1 > v && u < u0 + ((v - v0) * (u1 - u0)) / (v1 - v0)) odd = !odd;
  });
  return odd;
}

function onOutline([u, v], outline) {
  return outline.some(([u0, v0], place) => {
    const [u1, v1] = outline[(place + 1) % outline.length];
    const across = (u1 - u0) * (v - v0) - (v1 - v0) * (u - u0), along = (u - u0) * (u1 - u0) + (v - v0) * (v1 - v0);
    return Math.abs(across) < 1e-6 && along >= 0 && along <= (u1 - u0) ** 2 + (v1 - v0) ** 2;
  });
}

function pathOf(points) { return `M${points.map(([u, v]) => `${u} ${-v}`).join("L")}Z`; }

function drawSurface(box, form) {
  const at = box.dataset.drawing, outline = outlineAt(form, at);
  box.replaceChildren();
  if (outline.length < 3) {
    box.append(Object.assign(document.createElement("p"), { className: "soft", textContent: "Type its size to see it drawn." }));
    return;
  }
  const us = outline.map(([u]) => u), vs = outline.map(([, v]) => v);
  const left = Math.min(...us), low = Math.min(...vs), wide = Math.max(...us) - left, high = Math.max(...vs) - low;
  const room = 0.13 * Math.max(wide, high), size = 0.036 * Math.max(wide, high);
  const name = valueAt(form, `${at}/id`) || "surface";
  const svg = element("svg", { class: "surface", viewBox: `${left - room} ${-low - high - room} ${wide + 2 * room} ${high + 2 * room}`, role: "img", "aria-label": `${name}: ${sayLength(wide)} by ${sayLength(high)}` });
  svg.append(element("path", { class: "strip-0", d: pathOf(outline) }));
  const clip = `clip${at.replaceAll("/", "-")}`;
  svg.append(element("clipPath", { id: clip }, element("path", { d: pathOf(outline) })));
  svg.append(element("g", { "clip-path": `url(#${clip})` }, ...membersOf(form, at, left, low, wide, high)));
  for (const row of rowsAt(form, `${at}/openings`)) {
    const hole = openingAt(form, `${at}/openings/${row}`);
    if (!hole.length) continue;
    svg.append(element("path", { class: "opening", d: pathOf(hole) }));
    if (!hole.every((corner) => inside(corner, outline) || onOutline(corner, outline))) svg.append(element("path", { class: "bad", d: pathOf(hole) }));
    const [u, v] = [0, 1].map((axis) => hole.reduce((sum, corner) => sum + corner[axis], 0) / hole.length);
    svg.append(label(u, v, valueAt(form, `${at}/openings/${row}/id`), size));
  }
  for (const row of rowsAt(form, `${at}/penetrations`)) {
    const hole = `${at}/penetrations/${row}`, u = lengthAt(form, `${hole}/at_mm/0`), v = lengthAt(form, `${hole}/at_mm/1`);
    if (u === null || v === null) continue;
    const across = lengthAt(form, `${hole}/diameter_mm`), w = lengthAt(form, `${hole}/width_mm`), h = lengthAt(form, `${hole}/height_mm`);
    const bad = inside([u, v], outline) || onOutline([u, v], outline) ? "" : " bad";
    if (across === null && w > 0 && h > 0) svg.append(element("rect", { class: `penetration${bad}`, x: u - w / 2, y: -v - h / 2, width: w, height: h }));
    else svg.append(element("circle", { class: `penetration${bad}`, cx: u, cy: -v, r: Math.max((across ?? 0) / 2, size / 2.6) }));
    svg.append(label(u, v + size * 1.25, valueAt(form, `${hole}/id`), size * 0.85));
  }
  svg.append(element("path", { class: "outline", d: pathOf(outline) }));
  const turned = outline.reduce((sum, [u0, v0], place) => { const [u1, v1] = outline[(place + 1) % outline.length]; return sum + u0 * v1 - v0 * u1; }, 0) < 0 ? -1 : 1;
  outline.forEach(([u0, v0], place) => {
    const [u1, v1] = outline[(place + 1) % outline.length], long = Math.hypot(u1 - u0, v1 - v0);
    if (!long) return;
    const [nu, nv] = [(turned * (v1 - v0)) / long, (-turned * (u1 - u0)) / long];
    svg.append(label((u0 + u1) / 2 + nu * room * 0.5, (v0 + v1) / 2 + nv * room * 0.5, `${place}: ${sayLength(Math.round(long))}`, size, "soft-text", Math.abs(nu) > 0.8 ? -90 : 0));
  });
  box.append(svg);
}

function label(u, v, words, size, kind = "", turn = 0) {
  return element("text", { class: kind, x: 0, y: 0, "font-size": size, "text-anchor": "middle", "dominant-baseline": "central", transform: `translate(${u} ${-v}) rotate(${turn})` }, words ?? "");
}

function membersOf(form, at, left, low, wide, high) {
  const centres = lengthAt(form, `${at}/members/centres_mm`), first = lengthAt(form, `${at}/members/first_mm`) ?? 0;
  const said = (valueAt(form, `${at}/members/direction`) ?? "up").trim();
  const angle = said === "up" ? 90 : said === "across" ? 0 : Number(said);
  if (!(centres >= 50) || Number.isNaN(angle)) return [];
  const turn = (angle * Math.PI) / 180, along = [Math.cos(turn), Math.sin(turn)];
  const square = said === "up" ? [1, 0] : [-Math.sin(turn), Math.cos(turn)];
  const offsets = [[left, low], [left + wide, low], [left, low + high], [left + wide, low + high]].map(([u, v]) => u * square[0] + v * square[1]);
  const from = Math.ceil((Math.min(...offsets) - first) / centres), to = Math.floor((Math.max(...offsets) - first) / centres);
  const reach = wide + high, middle = (left + wide / 2) * along[0] + (low + high / 2) * along[1];
  const lines = [];
  for (let step = from; step <= Math.min(to, from + 300); step++) {
    const t = first + step * centres;
    const end = (s) => [t * square[0] + s * along[0], -(t * square[1] + s * along[1])];
    const [a, b] = [end(middle - reach), end(middle + reach)];
    lines.push(element("path", { class: "member", d: `M${a.join(" ")}L${b.join(" ")}` }));
  }
  return lines;
}
