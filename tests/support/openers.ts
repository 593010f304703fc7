// `check` and `run` with processes that all tests of a file share: from sources one takes half a second to start.
import { check as checkApart, Openers, run as runApart } from "@kitforme/run";
import { afterAll } from "vitest";

const openers = new Openers();
afterAll(() => openers.close());

export const check: typeof checkApart = (input, kits, options) => checkApart(input, kits, { openers, ...options });
export const run: typeof runApart = (input, doors, options) => runApart(input, doors, { openers, ...options });
