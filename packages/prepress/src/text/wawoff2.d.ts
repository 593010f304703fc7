declare module "wawoff2" {
  /** WOFF2 bytes to an sfnt font file. Rejects on malformed input. */
  export function decompress(bytes: Uint8Array): Promise<Uint8Array>;
  /** An sfnt font file to WOFF2 bytes. */
  export function compress(bytes: Uint8Array): Promise<Uint8Array>;
}
