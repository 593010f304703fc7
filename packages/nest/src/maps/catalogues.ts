import type { Field, Footprint } from "../shapes/footprint.ts";
import type { Catalogue } from "./catalogue.ts";
import { catalogueOf } from "./catalogue-of.ts";

/**
 * Catalogues made so far, by the list of footprints (the same list, not an equal one) and the fields: hand the same one to
 * several calls about the same shapes, and their overlap maps are made once.
 */
export class Catalogues {
  readonly #known = new WeakMap<readonly Footprint[], Map<string, Catalogue>>();

  /** The catalogue of these footprints on these fields, rougher for a draft. */
  of(footprints: readonly Footprint[], fields: readonly Field[], draft: boolean): Catalogue {
    let mine = this.#known.get(footprints);
    if (!mine) this.#known.set(footprints, (mine = new Map()));
    const key = JSON.stringify([draft, fields]);
    let catalogue = mine.get(key);
    if (!catalogue) mine.set(key, (catalogue = catalogueOf(footprints, fields, draft)));
    return catalogue;
  }
}
