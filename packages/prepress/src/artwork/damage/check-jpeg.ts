// A JPEG file decoded to its last code without making a picture (ITU-T T.81): libjpeg shows grey, or what it read before,
// wherever codes make no sense, and warns at most. Longer than a page: the four kinds of scan share one reader.
import { Broken } from "./damage.ts";

interface Component {
  readonly id: number;
  readonly across: number;
  readonly down: number;
  /** Table of quantisation. */
  readonly table: number;
  /** Blocks that hold picture, and blocks a row in scans of several components. */
  readonly wide: number;
  readonly high: number;
  readonly stride: number;
  /** Progressive: which of the 64 coefficients of a block are not 0; two words a block. */
  readonly known: Uint32Array | undefined;
  /** Precision each coefficient still lacks, in bits; -1: never sent. */
  readonly lacks: Int8Array;
  last: number;
}

interface Frame {
  readonly kind: number;
  readonly bits: number;
  readonly components: readonly Component[];
  readonly unitsWide: number;
  readonly unitsHigh: number;
}

/** Code lengths and symbols by the next 16 bits: `length << 8 | symbol`, 0 where no code begins so. */
type Codes = Uint16Array;

interface State {
  readonly bytes: Uint8Array;
  readonly quantisation: Map<number, Uint16Array>;
  readonly dc: Map<number, Codes>;
  readonly ac: Map<number, Codes>;
  frame: Frame | undefined;
  restart: number;
}

const [SOI, EOI, SOS, DQT, DHT, DRI, DNL, APP2, APP14] = [0xd8, 0xd9, 0xda, 0xdb, 0xc4, 0xdd, 0xdc, 0xe2, 0xee];
/** Arithmetic coding, lossless and hierarchical frames: left to the decoder, which refuses what it does not know. */
const PLAIN_FRAMES = new Set([0xc0, 0xc1, 0xc2]);
const isFrame = (marker: number): boolean => marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker);

/**
 * Throws `Broken` where a file is damaged.
 *
 * @param tables an abbreviated stream of tables that goes before it (JPEG in TIFF)
 */
export const checkJpeg = (bytes: Uint8Array, tables?: Uint8Array): void => {
  const state: State = {
    bytes,
    quantisation: new Map(),
    dc: new Map(),
    ac: new Map(),
    frame: undefined,
    restart: 0,
  };
  try {
    if (tables) segments({ ...state, bytes: tables }, state);
    segments(state, state);
  } catch (error) {
    if (error instanceof Unchecked) return;
    throw error;
  }
  if (!state.frame) throw new Broken("it has no frame");
  for (const { id, lacks } of state.frame.components)
    if (lacks.some((bits) => bits !== 0)) throw new Broken(`scans of component ${id} are missing`);
};

/** The marker segments of a stream, in order; tables go into `into`. */
const segments = (from: State, into: State): void => {
  const { bytes } = from;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytes[0] !== 0xff || bytes[1] !== SOI) throw new Broken("it does not begin as a JPEG", 0);
  const profiles = new Set<number>();
  let parts = 0;
  let at = 2;
  for (;;) {
    if (bytes[at] !== 0xff) throw new Broken("a marker is missing", at);
    while (bytes[at] === 0xff) at++;
    const marker = bytes[at++];
    if (marker === undefined) throw new Broken("it ends before its end marker", at);
    if (marker === EOI) break;
    if (marker === 0 || marker === SOI || marker === DNL || (marker >= 0xd0 && marker <= 0xd7))
      throw new Broken("a marker stands where none may", at - 2);
    const length = view.getUint16(at);
    const end = at + length;
    if (length < 2 || end > bytes.length) throw new Broken("a segment is longer than the file", at);
    const body = bytes.subarray(at + 2, end);
    if (marker === DQT) quantisation(body, into, at);
    else if (marker === DHT) codes(body, into, at);
    else if (marker === DRI) into.restart = view.getUint16(at + 2);
    else if (isFrame(marker)) {
      if (!PLAIN_FRAMES.has(marker)) throw new Unchecked();
      if (into.frame) throw new Broken("it has two frames", at);
      into.frame = frameOf(marker, body, at);
    } else if (marker === APP14 && body.length === 12 && !labelled(body, "Adobe"))
      throw new Broken("the segment that tells its colours is damaged", at);
    else if (marker === APP2 && body.length > 132 && Buffer.from(body.subarray(50, 54)).toString("latin1") === "acsp") {
      if (!labelled(body, "ICC_PROFILE\0")) throw new Broken("the label of its colour profile is damaged", at);
    }
    if (marker === APP2 && labelled(body, "ICC_PROFILE\0")) {
      profiles.add(body[12] as number);
      parts = Math.max(parts, body[13] as number);
    }
    at = end;
    if (marker === SOS) at = scan(body, end, into);
  }
  if (profiles.size !== parts) throw new Broken(`${profiles.size} of ${parts} parts of its colour profile are there`);
};

/** A kind of JPEG that this file does not follow: not damage. */
class Unchecked extends Error {}

const labelled = (body: Uint8Array, label: string): boolean =>
  Buffer.from(body.subarray(0, label.length)).toString("latin1") === label;

const quantisation = (body: Uint8Array, { quantisation: tables }: State, at: number): void => {
  for (let i = 0; i < body.length; ) {
    const head = body[i++] as number;
    const wide = head >> 4;
    if (wide > 1 || (head & 15) > 3 || i + 64 * (wide + 1) > body.length)
      throw new Broken("a quantisation table is damaged", at);
    const table = new Uint16Array(64);
    for (let k = 0; k < 64; k++) {
      table[k] = wide ? ((body[i] as number) << 8) | (body[i + 1] as number) : (body[i] as number);
      i += wide + 1;
    }
    if (table.includes(0)) throw new Broken("a quantisation table holds 0", at);
    tables.set(head & 15, table);
  }
};

const codes = (body: Uint8Array, state: State, at: number): void => {
  for (let i = 0; i < body.length; ) {
    const head = body[i++] as number;
    const counts = body.subarray(i, i + 16);
    const symbols = counts.reduce((sum, n) => sum + n, 0);
    if (head >> 4 > 1 || (head & 15) > 3 || counts.length < 16 || symbols > 256 || i + 16 + symbols > body.length)
      throw new Broken("a code table is damaged", at);
    i += 16;
    const table = new Uint16Array(65_536);
    let code = 0;
    for (let length = 1; length <= 16; length++, code <<= 1)
      for (let n = 0; n < (counts[length - 1] as number); n++, code++) {
        if (code >= 1 << length) throw new Broken("a code table holds more codes than there are", at);
        const first = code << (16 - length);
        table.fill((length << 8) | (body[i++] as number), first, first + (1 << (16 - length)));
      }
    (head >> 4 ? state.ac : state.dc).set(head & 15, table);
  }
};

const frameOf = (kind: number, body: Uint8Array, at: number): Frame => {
  const count = body[5] as number;
  const [bits, high, wide] = [body[0] as number, be16(body, 1), be16(body, 3)];
  if (body.length !== 6 + 3 * count || count < 1 || count > 4 || wide === 0 || high === 0)
    throw new Broken("its frame is damaged", at);
  const raw = Array.from({ length: count }, (_, i) => {
    const [id, sampling, table] = [body[6 + 3 * i], body[7 + 3 * i], body[8 + 3 * i]] as [number, number, number];
    return { id, across: sampling >> 4, down: sampling & 15, table };
  });
  if (raw.some(({ across, down }) => across < 1 || across > 4 || down < 1 || down > 4))
    throw new Broken("its sampling is damaged", at);
  const most = { across: Math.max(...raw.map((c) => c.across)), down: Math.max(...raw.map((c) => c.down)) };
  const [unitsWide, unitsHigh] = [Math.ceil(wide / (8 * most.across)), Math.ceil(high / (8 * most.down))];
  const components = raw.map((c): Component => {
    const stride = unitsWide * c.across;
    return {
      ...c,
      wide: Math.ceil(Math.ceil((wide * c.across) / most.across) / 8),
      high: Math.ceil(Math.ceil((high * c.down) / most.down) / 8),
      stride,
      known: kind === 0xc2 ? new Uint32Array(2 * stride * unitsHigh * c.down) : undefined,
      lacks: new Int8Array(64).fill(-1),
      last: 0,
    };
  });
  return { kind, bits, components, unitsWide, unitsHigh };
};

const be16 = (body: Uint8Array, at: number): number => ((body[at] as number) << 8) | (body[at + 1] as number);

/** One scan's entropy-coded data from `start`; gives the place of the marker after it. */
const scan = (header: Uint8Array, start: number, state: State): number => {
  const { frame, bytes, restart } = state;
  if (!frame) throw new Broken("a scan stands before the frame", start);
  const count = header[0] as number;
  if (header.length !== 4 + 2 * count || count < 1 || count > 4) throw new Broken("a scan's header is damaged", start);
  const [from, to, approximation] = header.subarray(1 + 2 * count) as unknown as [number, number, number];
  const [before, bits] = [approximation >> 4, approximation & 15];
  const parts = Array.from({ length: count }, (_, i) => {
    const component = frame.components.find(({ id }) => id === header[1 + 2 * i]);
    if (!component) throw new Broken("a scan is of a component that is not there", start);
    const tables = header[2 + 2 * i] as number;
    const unit = state.quantisation.get(component.table);
    if (!unit) throw new Broken("a quantisation table is missing", start);
    return { component, dc: state.dc.get(tables >> 4), ac: state.ac.get(tables & 15), unit };
  });
  const progressive = frame.kind === 0xc2;
  if (progressive ? from > to || to > 63 || (from === 0 && to !== 0) || (from > 0 && count > 1) : false)
    throw new Broken("a scan's range is damaged", start);
  const range = progressive ? [from, to] : [0, 63];
  for (const { component, dc, ac } of parts) {
    const needsDc = progressive ? from === 0 && before === 0 : true;
    const needsAc = progressive ? from > 0 : true;
    if ((needsDc && !dc) || (needsAc && !ac)) throw new Broken("a code table is missing", start);
    for (let k = range[0] as number; k <= (range[1] as number); k++) {
      const lacks = component.lacks[k] as number;
      if (progressive ? (before === 0 ? lacks !== -1 : lacks !== before || bits !== before - 1) : lacks !== -1)
        throw new Broken("a scan repeats or skips what another sent", start);
      component.lacks[k] = progressive ? bits : 0;
    }
    component.last = 0;
  }

  let at = start;
  let store = 0;
  let held = 0;
  let run = 0;
  const fill = (wanted: number): void => {
    while (held < wanted) {
      const byte = bytes[at];
      if (byte === undefined || (byte === 0xff && bytes[at + 1] !== 0))
        throw new Broken("its picture data end too early or hold a code that makes no sense", at);
      at += byte === 0xff ? 2 : 1;
      // 32-bit shifts drop what is long read.
      store = (store << 8) | byte;
      held += 8;
    }
  };
  const take = (n: number): number => {
    if (n === 0) return 0;
    fill(n);
    held -= n;
    return (store >>> held) & ((1 << n) - 1);
  };
  const symbol = (table: Codes): number => {
    // Near the end fewer than 16 bits may be left: ones are put behind, as the encoder pads.
    let ahead: number;
    let lent = 0;
    while (held < 16) {
      const byte = bytes[at];
      if (byte === undefined || (byte === 0xff && bytes[at + 1] !== 0)) {
        lent = 16 - held;
        break;
      }
      at += byte === 0xff ? 2 : 1;
      store = (store << 8) | byte;
      held += 8;
    }
    if (lent === 0) ahead = (store >>> (held - 16)) & 0xffff;
    else ahead = (((store & ((1 << held) - 1)) << lent) | ((1 << lent) - 1)) & 0xffff;
    const entry = table[ahead] as number;
    const length = entry >> 8;
    if (length === 0 || length > held) throw new Broken("its picture data hold a code that does not exist", at);
    held -= length;
    return entry & 255;
  };
  const signed = (n: number): number => {
    const value = take(n);
    return n > 0 && value < 1 << (n - 1) ? value - (1 << n) + 1 : value;
  };
  const limit = 1 << (frame.bits + 2);

  const dcFirst = (component: Component, table: Codes, unit: number, shift: number): void => {
    const size = symbol(table);
    if (size > frame.bits + 3) throw new Broken("its picture data hold a step larger than any", at);
    component.last += signed(size);
    // No 8 samples of a block can sum to more: what adds up beyond was changed on its way.
    if (Math.abs(component.last) * 2 ** shift * unit > limit + unit * 2 ** shift)
      throw new Broken("its picture data add up to brighter than white or darker than black", at);
  };
  const acWhole = (table: Codes, unit: Uint16Array): void => {
    for (let k = 1; k < 64; k++) {
      const code = symbol(table);
      const size = code & 15;
      const zeros = code >> 4;
      if (size === 0) {
        if (zeros !== 15) {
          if (zeros !== 0) throw new Broken("its picture data hold a code that does not exist", at);
          return;
        }
        k += 15;
        if (k > 63) throw new Broken("a block holds more than 64 values", at);
        continue;
      }
      k += zeros;
      if (k > 63 || size > frame.bits + 2) throw new Broken("a block holds more than 64 values", at);
      if (Math.abs(signed(size)) * (unit[k] as number) > 2 * limit)
        throw new Broken("a block holds a value larger than any", at);
    }
  };
  const acFirst = (component: Component, block: number, table: Codes): void => {
    if (run > 0) {
      run--;
      return;
    }
    for (let k = from; k <= to; k++) {
      const code = symbol(table);
      const size = code & 15;
      const zeros = code >> 4;
      if (size === 0 && zeros < 15) {
        run = (1 << zeros) - 1 + take(zeros);
        return;
      }
      k += zeros;
      if (k > to) throw new Broken("a block holds more values than its scan", at);
      if (size === 0) continue;
      if (size > frame.bits + 2) throw new Broken("a block holds a value larger than any", at);
      take(size);
      setKnown(component, block, k);
    }
  };
  const acRefine = (component: Component, block: number, table: Codes): void => {
    let k = from;
    if (run === 0) {
      for (; k <= to; k++) {
        const code = symbol(table);
        const size = code & 15;
        let zeros = code >> 4;
        if (size > 1) throw new Broken("its picture data hold a code that does not exist", at);
        if (size === 0 && zeros < 15) {
          run = (1 << zeros) + take(zeros);
          break;
        }
        if (size === 1) take(1);
        for (; k <= to; k++) {
          if (isKnown(component, block, k)) take(1);
          else if (zeros-- === 0) break;
        }
        if (k > to && size === 1) throw new Broken("a block holds more values than its scan", at);
        if (size === 1) setKnown(component, block, k);
      }
    }
    if (run > 0) {
      for (; k <= to; k++) if (isKnown(component, block, k)) take(1);
      run--;
    }
  };
  const block = (part: (typeof parts)[number], index: number): void => {
    const { component, dc, ac, unit } = part;
    if (!progressive) {
      dcFirst(component, dc as Codes, unit[0] as number, 0);
      acWhole(ac as Codes, unit);
    } else if (from === 0) {
      if (before === 0) dcFirst(component, dc as Codes, unit[0] as number, bits);
      else take(1);
    } else if (before === 0) acFirst(component, index, ac as Codes);
    else acRefine(component, index, ac as Codes);
  };

  /** Past the padding of a stretch of data; the next byte is a marker's. */
  const finish = (): void => {
    if (run !== 0) throw new Broken("a run of empty blocks goes beyond its scan", at);
    const padding = store & ((1 << (held & 7)) - 1);
    if (held >= 8 || (padding !== 0 && padding !== (1 << (held & 7)) - 1))
      throw new Broken("bytes are left over in its picture data", at);
    if (bytes[at] !== 0xff) throw new Broken("bytes are left over in its picture data", at);
    [store, held] = [0, 0];
  };
  const only = parts[0] as (typeof parts)[number];
  const single = count === 1;
  const [wide, high] = single ? [only.component.wide, only.component.high] : [frame.unitsWide, frame.unitsHigh];
  let left = restart;
  let expected = 0;
  for (let y = 0, unitsLeft = wide * high; y < high; y++)
    for (let x = 0; x < wide; x++, unitsLeft--) {
      if (restart > 0 && left === 0) {
        finish();
        while (bytes[at] === 0xff && bytes[at + 1] === 0xff) at++;
        if (bytes[at + 1] !== 0xd0 + expected) throw new Broken("a restart marker is missing or out of turn", at);
        at += 2;
        expected = (expected + 1) & 7;
        left = restart;
        for (const { component } of parts) component.last = 0;
      }
      left--;
      if (single) block(only, y * only.component.stride + x);
      else
        for (const part of parts) {
          const { across, down, stride } = part.component;
          for (let v = 0; v < down; v++)
            for (let h = 0; h < across; h++) block(part, (y * down + v) * stride + x * across + h);
        }
    }
  finish();
  return at;
};

const setKnown = ({ known }: Component, block: number, k: number): void => {
  const word = 2 * block + (k >> 5);
  (known as Uint32Array)[word] = ((known as Uint32Array)[word] as number) | (1 << (k & 31));
};
const isKnown = ({ known }: Component, block: number, k: number): boolean =>
  (((known as Uint32Array)[2 * block + (k >> 5)] as number) & (1 << (k & 31))) !== 0;
