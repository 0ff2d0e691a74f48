// Lengths as people say them, read as the service reads them: 2400, "2.4 m", "240 cm", "8 ft 2 in", "4\"". Null where unread.
"use strict";
const MILLIMETRES = { mm: 1, cm: 10, m: 1000, in: 25.4, ft: 304.8 };
const UNIT_WORDS = {
  "'": "ft", "′": "ft", foot: "ft", feet: "ft", ft: "ft", '"': "in", "″": "in", inch: "in", inches: "in", in: "in", mm: "mm", cm: "cm", m: "m",
  metre: "m", metres: "m", meter: "m", meters: "m", millimetre: "mm", millimetres: "mm", centimetre: "cm", centimetres: "cm",
};
const LENGTH_PART = /(?:(\d{1,9}(?:[.,]\d{1,6})?)(?![\d/.,]))?(?:[ -]?(\d{1,3})\/(\d{1,3}))?\s*([a-z]+|['"′″])?\s*/y;

function readLength(text) {
  let words = String(text ?? "").trim().toLowerCase();
  const sign = words.startsWith("-") ? -1 : 1;
  if (sign < 0) words = words.slice(1).trimStart();
  if (!words || words.length > 40) return null;
  let total = 0, place = 0, last = null;
  while (place < words.length) {
    LENGTH_PART.lastIndex = place;
    const [all, whole, top, bottom, word] = LENGTH_PART.exec(words) ?? [""];
    if (!all || (whole === undefined && top === undefined)) return null;
    place += all.length;
    let size = Number((whole ?? "0").replace(",", "."));
    if (top !== undefined) {
      if (Number(bottom) === 0) return null;
      size += Number(top) / Number(bottom);
    }
    let unit;
    if (word === undefined) {
      if (place < words.length) return null;
      unit = last === null ? 1 : last === MILLIMETRES.ft ? MILLIMETRES.in : null;
    } else unit = MILLIMETRES[UNIT_WORDS[word]] ?? null;
    if (unit === null || (last !== null && unit >= last)) return null;
    total += size * unit;
    last = unit;
  }
  return sign * Math.round(total);
}

function sayLength(mm) {
  return Math.abs(mm) < 1000 ? `${mm} mm` : `${(mm / 1000).toFixed(3).replace(/0$/, "")} m`;
}

// What stands in the form at a pointer, and how many rows it has there.
function valueAt(form, pointer) {
  const fields = form.querySelectorAll(`[name="${CSS.escape(pointer)}"]`);
  const field = fields[fields.length - 1];
  if (!field) return null;
  return field.type === "checkbox" ? String(field.checked) : field.value;
}

function rowsAt(form, pointer) {
  const rows = new Set();
  for (const field of form.querySelectorAll(`[name^="${CSS.escape(pointer)}/"]`)) rows.add(Number(field.name.slice(pointer.length + 1).split("/")[0]));
  return [...rows].sort((one, other) => one - other);
}

function lengthAt(form, pointer) { return readLength(valueAt(form, pointer)); }

function element(name, attributes = {}, ...inner) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...inner);
  return made;
}
