/** Places for number tags along a line: each as near its thing as it can be without touching its neighbours. */

/** Positions in the order given; least sum of squared ways, kept `gap` apart and within the line where they fit. */
export function spread(wanted: readonly number[], gap: number, low: number, high: number): number[] {
  const order = wanted.map((_, index) => index).sort((a, b) => (wanted[a] ?? 0) - (wanted[b] ?? 0));
  // With the gaps taken out it is a fit that must not fall: neighbours that would are pooled at their mean.
  const pools: { sum: number; count: number }[] = [];
  order.forEach((index, rank) => {
    pools.push({ sum: (wanted[index] ?? 0) - rank * gap, count: 1 });
    for (;;) {
      const last = pools.at(-1);
      const before = pools.at(-2);
      if (!last || !before || before.sum / before.count <= last.sum / last.count) break;
      pools.splice(-2, 2, { sum: before.sum + last.sum, count: before.count + last.count });
    }
  });
  const most = Math.max(low, high - gap * (wanted.length - 1));
  const placed = new Array<number>(wanted.length).fill(0);
  let rank = 0;
  for (const pool of pools) {
    const at = Math.min(most, Math.max(low, pool.sum / pool.count));
    for (let member = 0; member < pool.count; member += 1) {
      const index = order[rank];
      if (index !== undefined) placed[index] = at + rank * gap;
      rank += 1;
    }
  }
  return placed;
}
