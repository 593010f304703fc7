import { createHash, timingSafeEqual } from "node:crypto";
import { readFileSync, unwatchFile, watchFile } from "node:fs";

interface Token {
  readonly name: string;
  readonly hash: Buffer;
}

export interface Tokens {
  /** Whose token an `Authorization` header holds; undefined when it is nobody's. */
  nameOf(authorization: string | undefined): string | undefined;
  close(): void;
}

/** The signs of a bearer token (RFC 6750), at least 32 of them: 24 random bytes in base64. */
const TOKEN = /^[A-Za-z0-9\-._~+/]{32,}={0,2}$/;
const NAME = /^[\w.-]{1,60}$/;
/** Milliseconds between two looks at the file. */
const LOOK = 1_000;

const hashOf = (text: string): Buffer => createHash("sha256").update(text).digest();

/** The tokens of a file's text, or what is wrong with it; no token is ever repeated in words. */
export const readTokens = (text: string): { readonly tokens: readonly Token[] } | { readonly fault: string } => {
  const tokens: Token[] = [];
  for (const [i, line] of text.split(/\r?\n/).entries()) {
    const [name, token, ...more] = line
      .replace(/^\s*#.*/, "")
      .trim()
      .split(/\s+/);
    if (!name) continue;
    if (token === undefined || more.length > 0 || !NAME.test(name))
      return { fault: `line ${i + 1} is to read NAME TOKEN` };
    if (!TOKEN.test(token))
      return {
        fault: `line ${i + 1}: a token has at least 32 letters, digits and signs of -._~+/ (openssl rand -hex 32)`,
      };
    tokens.push({ name, hash: hashOf(token) });
  }
  return tokens.length > 0 ? { tokens } : { fault: "it holds no token" };
};

/**
 * The tokens of a file, a name and a token a line, lines with # left out. Two lines may bear one name, while a token is being
 * replaced. The file is read again when it changes; while it cannot be used, the tokens before it stay good. Throws what is
 * wrong with it at the start.
 */
export const openTokens = (file: string, onFault: (fault: string) => void): Tokens => {
  const read = (): readonly Token[] => {
    const said = readTokens(readFileSync(file, "utf8"));
    if ("fault" in said) throw new Error(`the tokens' file ${file} cannot be used: ${said.fault}`);
    return said.tokens;
  };
  let tokens = read();
  watchFile(file, { interval: LOOK, persistent: false }, () => {
    try {
      tokens = read();
    } catch (error) {
      onFault((error as Error).message);
    }
  });
  return {
    nameOf(authorization) {
      const said = /^Bearer +(\S+) *$/i.exec(authorization ?? "")?.[1];
      if (said === undefined) return undefined;
      const hash = hashOf(said);
      let name: string | undefined;
      // All of them, found or not: how long it takes says nothing.
      for (const token of tokens) if (timingSafeEqual(token.hash, hash)) name = token.name;
      return name;
    },
    close: () => unwatchFile(file),
  };
};
