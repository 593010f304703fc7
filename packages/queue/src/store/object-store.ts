import { FailedRun } from "@kitforme/run";

/** Where objects of an S3-compatible store lie, and by whose leave. */
export interface StoreAddress {
  readonly bucket: string;
  /** Before every key; empty, or with a stroke at its end. */
  readonly prefix: string;
  /** Of the store: `https://HOST[:PORT]`. The bucket is the first part of the path. */
  readonly endpoint: string;
  readonly region: string;
  readonly keyId: string;
  readonly secret: string;
}

/** An object as a list has it. */
export interface Listed {
  readonly key: string;
  readonly bytes: number;
  /** When it was put there, in ms since 1970 by the store's clock. */
  readonly at: number;
}

/** Objects by their keys, which are ASCII. Every call throws an environment fault while the store is away or says no. */
export interface ObjectStore {
  readonly address: StoreAddress;
  get(key: string): Promise<Uint8Array | undefined>;
  put(key: string, bytes: Uint8Array): Promise<void>;
  /** Puts it only where there is none (`If-None-Match: *`). False where there is one. */
  putNew(key: string, bytes: Uint8Array): Promise<boolean>;
  list(prefix: string): Promise<readonly Listed[]>;
  remove(key: string): Promise<void>;
}

/** Milliseconds for one call: the largest object is a kit of some hundred megabytes. */
const PATIENCE = 300_000;
/** Tries of one call that the store answers with a fault of its own, within some seconds. */
const RETRIES = 3;

/** A store's address from `s3://BUCKET[/PREFIX]` and the variables that tools for such stores have. Says what is wrong with them. */
export const addressOf = (
  url: string,
  env: Readonly<Record<string, string | undefined>>,
): { readonly address: StoreAddress } | { readonly fault: string } => {
  const [, bucket, path = ""] = /^s3:\/\/([a-z0-9][a-z0-9.-]+)(?:\/([!-~]*))?$/.exec(url) ?? [];
  if (bucket === undefined)
    return { fault: "The store (KITFORME_STORE) is to read s3://BUCKET or s3://BUCKET/PREFIX." };
  const region = env["AWS_REGION"] ?? "us-east-1";
  const endpoint = env["KITFORME_STORE_ENDPOINT"] ?? `https://s3.${region}.amazonaws.com`;
  if (!URL.canParse(endpoint) || !/^https?:$/.test(new URL(endpoint).protocol))
    return { fault: "The store's address (KITFORME_STORE_ENDPOINT) is to read https://HOST or https://HOST:PORT." };
  const [keyId, secret] = [env["AWS_ACCESS_KEY_ID"], env["AWS_SECRET_ACCESS_KEY"]];
  if (!keyId || !secret) return { fault: "The store needs AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY." };
  const prefix = path.replace(/\/*$/, "/").replace(/^\/+/, "");
  return { address: { bucket, prefix, endpoint: endpoint.replace(/\/+$/, ""), region, keyId, secret } };
};

/** The store at an address. The client of such stores is a package of its own: throws what to install where it is not there. */
export const openStore = async (address: StoreAddress): Promise<ObjectStore> => {
  const { AwsClient } = await import("aws4fetch").catch((error: unknown) => {
    throw new Error("The store needs a package beside this one: npm install aws4fetch.", { cause: error });
  });
  const { bucket, prefix, endpoint, region, keyId, secret } = address;
  const client = new AwsClient({
    accessKeyId: keyId,
    secretAccessKey: secret,
    region,
    service: "s3",
    retries: RETRIES,
  });
  const base = `${endpoint}/${bucket}`;
  const placeOf = (key: string): string =>
    `${base}/${`${prefix}${key}`
      .split("/")
      .map((part) => encodeURIComponent(part))
      .join("/")}`;
  const ask = async (url: string, init: RequestInit, known: readonly number[]): Promise<Response> => {
    const answer = await client
      .fetch(url, { ...init, signal: AbortSignal.timeout(PATIENCE) })
      .catch((error: unknown) => {
        const why =
          error instanceof Error ? ((error.cause as Error | undefined)?.message ?? error.message) : String(error);
        throw away(`cannot be reached (${why})`);
      });
    if (answer.ok || known.includes(answer.status)) return answer;
    const [, code = answer.statusText] = /<Code>([^<]*)<\/Code>/.exec(await answer.text().catch(() => "")) ?? [];
    throw away(`answers ${answer.status} (${code}) to ${init.method ?? "GET"}`);
  };
  const away = (what: string): FailedRun =>
    new FailedRun({ kind: "environment", message: `the store s3://${bucket}/${prefix} at ${endpoint} ${what}` });
  const bodyOf = (bytes: Uint8Array): NonNullable<RequestInit["body"]> => bytes as Uint8Array<ArrayBuffer>;
  return {
    address,
    async get(key) {
      const answer = await ask(placeOf(key), {}, [404]);
      const bytes = new Uint8Array(await answer.arrayBuffer());
      return answer.status === 404 ? undefined : bytes;
    },
    async put(key, bytes) {
      await (await ask(placeOf(key), { method: "PUT", body: bodyOf(bytes) }, [])).arrayBuffer();
    },
    async putNew(key, bytes) {
      const headers = { "if-none-match": "*" };
      const answer = await ask(placeOf(key), { method: "PUT", body: bodyOf(bytes), headers }, [409, 412]);
      await answer.arrayBuffer();
      return answer.ok;
    },
    async list(under) {
      const found: Listed[] = [];
      for (let next: string | undefined = ""; next !== undefined; ) {
        const query = new URLSearchParams({ "list-type": "2", prefix: prefix + under });
        if (next !== "") query.set("continuation-token", next);
        const text = await (await ask(`${base}?${query.toString()}`, {}, [])).text();
        for (const [, one = ""] of text.matchAll(/<Contents>(.*?)<\/Contents>/gs)) {
          const key = valueIn(one, "Key") ?? "";
          const at = Date.parse(valueIn(one, "LastModified") ?? "");
          found.push({ key: key.slice(prefix.length), bytes: Number(valueIn(one, "Size")), at });
        }
        next = valueIn(text, "NextContinuationToken");
      }
      return found;
    },
    async remove(key) {
      await (await ask(placeOf(key), { method: "DELETE" }, [404])).arrayBuffer();
    },
  };
};

const ENTITIES: Readonly<Record<string, string>> = { amp: "&", lt: "<", gt: ">", quot: '"', apos: "'" };

/** The text of an element; lists hold no other mark-up than these. */
const valueIn = (xml: string, name: string): string | undefined =>
  new RegExp(`<${name}>([^<]*)</${name}>`)
    .exec(xml)?.[1]
    ?.replace(/&(#x?[0-9a-f]+|\w+);/gi, (whole, entity: string) =>
      entity.startsWith("#")
        ? String.fromCodePoint(Number(entity.replace(/^#x/i, "0x").replace(/^#/, "")))
        : (ENTITIES[entity] ?? whole),
    );
