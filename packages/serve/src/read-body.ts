import { parseJson } from "@kitforme/kit";
import type { FastifyRequest } from "fastify";
import { Problem } from "./problem.ts";

const MOST_SPOILED = 10_000;
const isPlace = (one: unknown): one is string => typeof one === "string" && /^\d{1,6}:\d{1,6}$/.test(one);

/** Throws 415 for bytes where JSON is wanted. */
export const textOf = (request: FastifyRequest): string => {
  if (Buffer.isBuffer(request.body)) throw new Problem(415, "The body is not JSON.");
  return typeof request.body === "string" ? request.body : "";
};
/** Throws 415 for JSON where bytes are wanted. */
export const bytesOf = (request: FastifyRequest): Buffer => {
  if (!Buffer.isBuffer(request.body)) throw new Problem(415, "The body is to be the bytes of a picture.");
  return request.body;
};

/** The words of a copy in a request's body. Throws 400. */
export const copyOf = (text: string): unknown => {
  let said: unknown;
  try {
    said = text === "" ? {} : (JSON.parse(text) as unknown);
  } catch {
    throw new Problem(400, "The body is not JSON.");
  }
  if (typeof said !== "object" || said === null || Object.keys(said).some((name) => name !== "copy"))
    throw new Problem(400, 'The body is to read {"copy": {"SLOT": "TEXT"}}.');
  const { copy = {} } = said as { copy?: unknown };
  const good =
    typeof copy === "object" && copy !== null && Object.values(copy).every((text) => typeof text === "string");
  // Pictures would be read from the shop's disk.
  if (!good) throw new Problem(400, "copy: texts by their slots are wanted; pictures are not taken here.");
  return copy;
};

/** Places of spoiled pieces in a request's body. Throws 400. */
export const spoiledOf = (text: string): readonly string[] => {
  const said = parseJson(text);
  const places = "value" in said ? (said.value as { spoiled?: unknown } | null)?.spoiled : undefined;
  if (!Array.isArray(places) || places.length === 0 || places.length > MOST_SPOILED || !places.every(isPlace))
    throw new Problem(400, 'The body is to read {"spoiled": ["SHEET:NUMBER", …]}.');
  return places;
};
