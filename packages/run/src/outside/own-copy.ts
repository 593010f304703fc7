import { deserialize, serialize } from "node:v8";

/**
 * The same value in memory of its own. Arrays that v8 reads are views of all that was read, empty ones too: a single one that is
 * kept holds everything that was read beside it, every picture of a piece.
 */
export const ownCopy = <T>(value: T): T => deserialize(serialize(value)) as T;
