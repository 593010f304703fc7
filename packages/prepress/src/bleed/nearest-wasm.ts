import { NEAREST_BINARY } from "./nearest-binary.ts";
import { FAR, type NearestRequest } from "./request-nearest.ts";
import { count } from "./runs.ts";

// Node has WebAssembly, but the language's library list without a browser does not name it.
interface Memory {
  readonly buffer: ArrayBuffer;
  grow(pages: number): number;
}
interface Engine {
  readonly Module: new (bytes: Uint8Array) => object;
  readonly Instance: new (module: object) => { readonly exports: unknown };
}
const { WebAssembly: engine } = globalThis as unknown as { readonly WebAssembly: Engine };

interface Search {
  readonly memory: Memory;
  readonly toggled: (rows: number, start: number, ends: number) => number;
  readonly search: (...addresses: number[]) => void;
}

const PAGE = 65_536;
/** A search that needed more gives its memory back: a module's memory never shrinks. */
const KEEP = 12 * 2 ** 20;

let compiled: object | undefined;
let kept: Search | undefined;

const open = (): Search => {
  compiled ??= new engine.Module(Buffer.from(NEAREST_BINARY, "base64"));
  kept ??= new engine.Instance(compiled).exports as Search;
  return kept;
};

/** Hands out addresses one after the other. */
class Room {
  // The first bytes stay free: address 0 reads like "none".
  #next = 16;

  array(values: number): number {
    const at = this.#next;
    this.#next += 4 * values;
    return at;
  }

  copy(memory: Memory, values: Int32Array): number {
    const at = this.array(values.length);
    this.fit(memory);
    new Int32Array(memory.buffer, at, values.length).set(values);
    return at;
  }

  fit(memory: Memory): void {
    const missing = this.#next - memory.buffer.byteLength;
    if (missing > 0) memory.grow(Math.ceil(missing / PAGE));
  }

  get bytes(): number {
    return this.#next;
  }
}

/**
 * The source index of every target pixel, in the order of the runs. A view that the next search overwrites: copy what is to
 * be kept.
 */
export const searchInWasm = ({ source, target, width, reach, limit, stride, offset }: NearestRequest): Int32Array => {
  const { memory, toggled, search } = open();
  const { rows } = target;
  const room = new Room();
  const sourceStart = room.copy(memory, source.start);
  const sourceEnds = room.copy(memory, source.ends);
  const targetStart = room.copy(memory, target.start);
  const targetEnds = room.copy(memory, target.ends);
  const stops = toggled(rows, sourceStart, sourceEnds);
  const up = room.array(width);
  const down = room.array(width);
  const last = room.array(width);
  // Four numbers a segment.
  const stack = room.array(4 * width);
  const voids = room.array((width >> 4) + 1);
  const stopStart = room.array(rows + 2);
  const stopAt = room.array(stops);
  const stopNext = room.array(stops);
  const n = count(target);
  const into = room.array(n);
  room.fit(memory);
  const whole = Math.min(Math.ceil(limit ?? FAR), Math.max(width, rows));
  search(
    rows,
    width,
    sourceStart,
    sourceEnds,
    targetStart,
    targetEnds,
    up,
    down,
    last,
    stack,
    voids,
    stopStart,
    stopAt,
    stopNext,
    reach,
    whole,
    limit ?? -1,
    stride,
    offset,
    into,
  );
  if (room.bytes > KEEP) kept = undefined;
  return new Int32Array(memory.buffer, into, n);
};
