import type { Finding } from "@kitforme/kit";

/** A file or folder of the kits that this user may not read: the input's fault, where a worker would wait for its share. */
export class Unreadable extends Error {
  readonly finding: Finding;
  constructor(finding: Finding) {
    super(finding.message);
    this.finding = finding;
  }
}
