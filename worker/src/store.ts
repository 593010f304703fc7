import { Option } from "commander";
import type * as Queue from "@kitforme/queue";

/** The option of those who fix orders or make them. */
export const storeOption = (): Option =>
  new Option(
    "--store <s3://bucket/prefix>",
    "S3-compatible store for workers without a common out folder; KITFORME_STORE_ENDPOINT, AWS_REGION and the AWS keys say where",
  ).env("KITFORME_STORE");

/** The store that was named; a fault in words where it cannot be used. */
export const storeAt = async (
  queue: typeof Queue,
  url: string | undefined,
): Promise<{ readonly store?: Queue.ObjectStore; readonly fault?: string }> => {
  if (url === undefined) return {};
  const read = queue.addressOf(url, process.env);
  if ("fault" in read) return read;
  try {
    return { store: await queue.openStore(read.address) };
  } catch (error) {
    return { fault: (error as Error).message };
  }
};
