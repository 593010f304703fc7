// The WebAssembly module of ../assembly and its memory.
import { ENGINE_BINARY } from "./engine-binary.ts";

// Node has WebAssembly, but the language's library list without a browser does not name it.
interface Memory {
  readonly buffer: ArrayBuffer;
  grow(pages: number): number;
}
interface WebAssembly {
  readonly Module: new (bytes: Uint8Array) => object;
  readonly Instance: new (module: object) => { readonly exports: unknown };
}
const { WebAssembly: platform } = globalThis as unknown as { readonly WebAssembly: WebAssembly };

type Call = (...addresses: number[]) => number;

/** The module's functions; every array is an address. */
export interface Engine {
  readonly memory: Memory;
  readonly countCrossings: Call;
  readonly inside: Call;
  readonly minus: Call;
  readonly begin: Call;
  readonly more: Call;
  readonly reached: Call;
}

const PAGE = 65_536;
/** Work that took more gives its memory back: a module's memory never shrinks. */
const KEEP = 12 * 2 ** 20;

// Code and scratch memory, no answers: nothing of one call is seen by the next.
let compiled: object | undefined;
let kept: Engine | undefined;

const open = (): Engine => {
  compiled ??= new platform.Module(Buffer.from(ENGINE_BINARY, "base64"));
  kept ??= new platform.Instance(compiled).exports as Engine;
  return kept;
};

/** The engine's memory for one call: hands out addresses one after the other. Views of it end with the next call. */
export class Room {
  readonly engine = open();
  // The first bytes stay free: address 0 reads like "none".
  #next = 16;

  /** Room for whole numbers. Nothing may be read or written before the next `fit`. */
  array(values: number): number {
    const at = this.#next;
    this.#next += 4 * values;
    return at;
  }

  /** Room for fractions. */
  floats(values: number): number {
    this.#next = (this.#next + 7) & ~7;
    return this.array(2 * values);
  }

  /** Makes the memory as large as what was handed out. */
  fit(): void {
    const missing = this.#next - this.engine.memory.buffer.byteLength;
    if (missing > 0) this.engine.memory.grow(Math.ceil(missing / PAGE));
  }

  copy(values: Int32Array): number {
    const at = this.array(values.length);
    this.fit();
    this.view(at, values.length).set(values);
    return at;
  }

  /** Room up to an address was taken by the engine itself. */
  taken(end: number): void {
    this.#next = end;
  }

  view(at: number, values: number): Int32Array {
    return new Int32Array(this.engine.memory.buffer, at, values);
  }

  viewFloats(at: number, values: number): Float64Array {
    return new Float64Array(this.engine.memory.buffer, at, values);
  }

  /** Ends the call. */
  close(): void {
    if (this.#next > KEEP) kept = undefined;
  }
}
