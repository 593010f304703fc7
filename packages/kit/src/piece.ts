// A door for the process that opens strangers' drawings: it needs none of the forms, and starts twice as quickly without them.
export { openPiece } from "./read-piece.ts";
