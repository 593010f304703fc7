import type { Change } from "./types.ts";

/** Changes out of a stream of server-sent events (HTML Living Standard), as they come; ends when the stream does. */
export async function* readEvents(body: ReadableStream<Uint8Array>): AsyncGenerator<Change> {
  const reader = body.getReader();
  const decoder = new TextDecoder();
  let rest = "";
  let name = "";
  let data: string[] = [];
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return;
      const lines = (rest + decoder.decode(value, { stream: true })).split("\n");
      rest = lines.pop() ?? "";
      for (const line of lines) {
        if (line === "") {
          if (name === "change" && data.length > 0) yield JSON.parse(data.join("\n")) as Change;
          name = "";
          data = [];
        } else if (line.startsWith("event:")) name = line.slice(6).trim();
        else if (line.startsWith("data:")) data.push(line.slice(5).replace(/^ /, ""));
      }
    }
  } finally {
    await reader.cancel().catch(() => undefined);
  }
}
