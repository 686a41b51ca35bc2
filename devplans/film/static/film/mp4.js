/**
 * Reads the index of an MP4 or MOV file: when each of its pictures is on screen.
 * readIndex(file) resolves to {times, endMs}: milliseconds from the first picture, rounded up, and
 * where the last one ends; null where the file has no index that says so plainly.
 */
const MOST_INDEX_BYTES = 256 * 1024 * 1024;
const MOST_FRAGMENTS = 20_000;

class Box {
  constructor(view, name, start, end) {
    Object.assign(this, { view, name, start, end });
  }

  u8(at) { return this.view.getUint8(this.start + at); }
  u32(at) { return this.view.getUint32(this.start + at); }
  i32(at) { return this.view.getInt32(this.start + at); }
  u64(at) { return this.u32(at) * 2 ** 32 + this.u32(at + 4); }
  i64(at) { return this.i32(at) * 2 ** 32 + this.u32(at + 4); }
  get version() { return this.u8(0); }
  get flags() { return this.u32(0) & 0xffffff; }

  * children() {
    let at = this.start;
    while (at + 8 <= this.end) {
      let [size, head] = [this.view.getUint32(at), 8];
      const name = String.fromCharCode(...new Uint8Array(this.view.buffer, this.view.byteOffset + at + 4, 4));
      if (size === 1) [size, head] = [this.view.getUint32(at + 8) * 2 ** 32 + this.view.getUint32(at + 12), 16];
      if (size === 0) size = this.end - at;
      if (size < head || at + size > this.end) return;
      yield new Box(this.view, name, at + head, at + size);
      at += size;
    }
  }

  all(name) { return [...this.children()].filter((box) => box.name === name); }
  find(...path) { return path.reduce((box, name) => box?.all(name)[0], this); }
}

async function boxesOf(file) {
  const found = [];
  let at = 0;
  while (at + 8 <= file.size) {
    const view = new DataView(await file.slice(at, at + 16).arrayBuffer());
    let size = view.getUint32(0);
    const name = String.fromCharCode(...new Uint8Array(view.buffer, 4, 4));
    if (size === 1 && view.byteLength === 16) size = view.getUint32(8) * 2 ** 32 + view.getUint32(12);
    if (size === 0) size = file.size - at;
    if (size < 8 || !/^[\x20-\x7e]{4}$/.test(name)) break;
    found.push({ name, at, size });
    if (found.length > MOST_FRAGMENTS) return [];
    at += size;
  }
  return found;
}

async function read(file, { at, size }) {
  if (size > MOST_INDEX_BYTES) return null;
  const view = new DataView(await file.slice(at, at + size).arrayBuffer());
  return new Box(view, "", 0, view.byteLength).children().next().value;
}

/** [{pts, shown}] of the samples that the index lists, in decoding order. */
function listed(table) {
  const samples = [];
  let time = 0;
  const steps = table.find("stts");
  for (let row = 0, at = 8; row < (steps?.u32(4) ?? 0); row += 1, at += 8) {
    for (let count = steps.u32(at), shown = steps.u32(at + 4); count > 0; count -= 1, time += shown) samples.push({ pts: time, shown });
  }
  const shifts = table.find("ctts");
  let sample = 0;
  for (let row = 0, at = 8; row < (shifts?.u32(4) ?? 0); row += 1, at += 8) {
    const by = shifts.i32(at + 4);
    for (let count = shifts.u32(at); count > 0 && sample < samples.length; count -= 1, sample += 1) samples[sample].pts += by;
  }
  return samples;
}

/** The same of one fragment; `state.next` is where a fragment without its own time begins. */
function fragment(moof, track, usual, state) {
  const samples = [];
  for (const part of moof.all("traf")) {
    const head = part.find("tfhd");
    if (head.u32(4) !== track) continue;
    let [at, shown] = [8, usual];
    if (head.flags & 1) at += 8;
    if (head.flags & 2) at += 4;
    if (head.flags & 8) shown = head.u32(at);
    const begin = part.find("tfdt");
    let time = begin ? (begin.version ? begin.u64(4) : begin.u32(4)) : state.next;
    for (const run of part.all("trun")) {
      const { flags } = run;
      let place = 8 + (flags & 1 ? 4 : 0) + (flags & 4 ? 4 : 0);
      for (let count = run.u32(4); count > 0; count -= 1) {
        let own = shown;
        if (flags & 0x100) { own = run.u32(place); place += 4; }
        if (flags & 0x200) place += 4;
        if (flags & 0x400) place += 4;
        let by = 0;
        if (flags & 0x800) { by = run.i32(place); place += 4; }
        samples.push({ pts: time + by, shown: own });
        time += own;
      }
    }
    state.next = time;
  }
  return samples;
}

/** Cut to what the edit list shows; null where it does more than cut off the ends. */
function edited(samples, list, scale, filmScale) {
  if (!list) return samples;
  const size = list.version ? 20 : 12;
  const edits = [];
  for (let row = 0, at = 8; row < list.u32(4); row += 1, at += size) {
    const wide = list.version === 1;
    const edit = { length: wide ? list.u64(at) : list.u32(at), from: wide ? list.i64(at + 8) : list.i32(at + 4), rate: list.u32(at + (wide ? 16 : 8)) };
    if (edit.from >= 0) edits.push(edit);
  }
  if (!edits.length) return samples;
  const [{ from, length, rate }] = edits;
  if (edits.length > 1 || rate !== 0x10000) return null;
  const end = length ? from + Math.round((length * scale) / filmScale) : Infinity;
  return samples.filter(({ pts }) => pts >= from && pts < end);
}

export async function readIndex(file) {
  try {
    return await timesOf(file);
  } catch {
    // a damaged index: the browser may play the file all the same
    return null;
  }
}

async function timesOf(file) {
  const boxes = await boxesOf(file);
  const place = boxes.find(({ name }) => name === "moov");
  const moov = place && await read(file, place);
  const track = moov?.all("trak").find((one) => one.find("mdia", "hdlr")?.u32(8) === 0x76696465);
  const clock = track?.find("mdia", "mdhd");
  if (!clock) return null;
  const scale = clock.version ? clock.u32(20) : clock.u32(12);
  const films = moov.find("mvhd");
  const filmScale = films.version ? films.u32(20) : films.u32(12);
  let samples = listed(track.find("mdia", "minf", "stbl"));
  const extends_ = moov.find("mvex");
  if (extends_) {
    const head = track.find("tkhd");
    const id = head.version ? head.u32(20) : head.u32(12);
    const usual = extends_.all("trex").find((one) => one.u32(4) === id)?.u32(12) ?? 0;
    const state = { next: 0 };
    for (const one of boxes.filter(({ name }) => name === "moof")) {
      for (const sample of fragment(await read(file, one), id, usual, state)) samples.push(sample);
    }
  }
  samples = edited(samples, track.find("edts", "elst"), scale, filmScale);
  if (!samples?.length || !scale) return null;
  samples.sort((one, other) => one.pts - other.pts);
  const first = samples[0].pts;
  const times = samples.map(({ pts }) => Math.ceil(((pts - first) * 1000) / scale));
  const last = samples.at(-1);
  return { times, endMs: Math.round(((last.pts + last.shown - first) * 1000) / scale) };
}
