import type { PreviewSize } from "@kitforme/files";
import type { Finding, Piece, Shop } from "@kitforme/kit";
import type { Openers, OpeningBounds } from "../outside/openers.ts";

/** How large previews are, and what their processes may use. */
export interface PreviewOptions extends PreviewSize {
  readonly bounds?: Partial<OpeningBounds>;
}

/** A kit as it was read, and who opens its files. */
export interface Opened {
  readonly kit: string;
  readonly shop: Shop;
  readonly sound: readonly Piece[];
  /** Those at fault among them. */
  readonly drawn: readonly Piece[];
  readonly found: readonly Finding[];
  readonly openers: Openers;
  readonly options: PreviewOptions;
}
