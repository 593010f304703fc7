import type { OpenPiece } from "./piece-request.ts";

/** Opens one piece here. Whoever has others open them never loads what reads a drawing. */
export const openPiece: OpenPiece = async (request, read) => (await import("./read-piece.ts")).openPiece(request, read);
