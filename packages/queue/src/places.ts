import { join } from "node:path";

/** Where the queue keeps its own things in the folder of jobs: out of the way of whoever looks for jobs. */
export const OWN = ".kitforme";
/** Attempts at gangs, one folder each: `<gang>.<token>`. */
export const attemptsIn = (out: string): string => join(out, OWN, "attempts");
/** Frozen shops and kits by the hash of their content. */
export const storeIn = (out: string): string => join(out, OWN, "store");
export const attemptOf = (out: string, gang: string, token: string): string =>
  join(attemptsIn(out), `${gang}.${token}`);
/** Prepared pieces, where no other folder is named for them. */
export const cacheIn = (out: string): string => join(out, OWN, "cache");
/** What attempts hand over to other workers, one folder each, named like the attempt. */
export const partsIn = (out: string): string => join(out, OWN, "parts");
export const partsOf = (out: string, gang: string, token: string): string => join(partsIn(out), `${gang}.${token}`);
/** What helpers fetch from a store, a folder for each of these processes with one for each attempt in it, named like the attempt. */
export const helpedIn = (out: string): string => join(out, OWN, "helped");
export const helpedOf = (out: string, holder: string, gang: string, token: string): string =>
  join(helpedIn(out), holder, `${gang}.${token}`);
/** A frozen kit's folder; it keeps the name it had on the shelf. */
export const kitOf = (out: string, id: string): string => join(storeIn(out), "kits", ...id.split("/"));
/** The folder of the pictures that came beside an order. */
export const picturesOf = (out: string, id: string): string => join(storeIn(out), "orders", id);
/** Buyers' pictures that came by HTTP, until an order that names them is frozen. */
export const uploadsIn = (out: string): string => join(out, OWN, "uploads");
/** A frozen shop's folder. */
export const shopOf = (out: string, id: string): string => join(storeIn(out), "shops", id);
