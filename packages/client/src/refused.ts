import type { Finding, State } from "./types.ts";

/** An answer of the server that is no success. */
export class Refused extends Error {
  override readonly name = "Refused";
  /** HTTP status. */
  readonly status: number;
  /** What is wrong with the input and what to do, where it is the input's fault (409, 422). */
  readonly findings: readonly Finding[];
  /** Where the order is, where that forbids what was asked. */
  readonly state: State | undefined;
  constructor(status: number, detail: string, findings: readonly Finding[] = [], state?: State) {
    super([detail, ...findings.filter((f) => f.level === "error").map((f) => f.message)].join(" "));
    this.status = status;
    this.findings = findings;
    this.state = state;
  }
}

/** The problem in a response's body (RFC 9457), or its status where there is none. */
export const refusedBy = async (response: Response): Promise<Refused> => {
  const text = await response.text().catch(() => "");
  try {
    const { detail, findings, state } = JSON.parse(text) as {
      detail?: string;
      findings?: readonly Finding[];
      state?: State;
    };
    return new Refused(response.status, detail ?? response.statusText, findings, state);
  } catch {
    return new Refused(response.status, response.statusText || `HTTP ${response.status}`);
  }
};
