// An engine of ours is loaded with `await` at the top of its module, which `require` cannot wait for. Better a sentence than its code.
throw new Error(
  '@kitforme/queue is an ES module and cannot be required. In CommonJS write: const { submitOrders } = await import("@kitforme/queue");',
);
