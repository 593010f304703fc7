/** What of a file is not whole, in the words of its format, and where: bytes from its start. */
export interface Damage {
  readonly what: string;
  readonly at?: number;
}

/** Thrown inside a checker where a file turns out to be damaged; `damageOf` catches it. */
export class Broken extends Error {
  readonly at: number | undefined;
  constructor(what: string, at?: number) {
    super(what);
    this.at = at;
  }
}
