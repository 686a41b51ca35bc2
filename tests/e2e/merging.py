"""Two pages that count on from the same workout, put together; what is wrong with it."""

MERGES = """async (url) => {
  const { merged, since } = await import(url);
  const random = (seed) => () => { seed = (seed * 16807) % 2147483647; return seed / 2147483647; };
  const wrong = [];
  for (let seed = 1; seed <= 400; seed += 1) {
    const chance = random(seed);
    let key = 0;
    const page = (held) => ({ work: structuredClone(held), done: [] });
    const act = (one) => {
      const { work, done } = one;
      const last = work.sets.at(-1);
      const dice = chance();
      if (dice < 0.15 && done.length) {
        const { set, shot, made } = done.pop();
        const held = work.sets.find((row) => row.id === set);
        held.tried -= 1;
        held.made -= made;
        if (!held.tried) work.sets = work.sets.filter((row) => row !== held);
        work.shots = work.shots.filter((row) => row.id !== shot);
        return;
      }
      let set = last;
      if (!set || dice > 0.85) {
        set = { id: `set${key += 1}`, drill: "d", side: "none", done: false, made: 0, tried: 0 };
        work.sets.push(set);
      }
      const made = Number(chance() < 0.5);
      set.made += made;
      set.tried += 1;
      const shot = `shot${key += 1}`;
      work.shots.push({ id: shot, set: set.id, made: Boolean(made) });
      done.push({ set: set.id, shot, made });
    };
    const sum = (work) => [
      work.sets.reduce((total, one) => total + one.made, 0),
      work.sets.reduce((total, one) => total + one.tried, 0),
      work.shots.length,
    ];
    const facts = { minutes: null, effort: null, kind: "own", finished: false, pain: "", note: "" };
    const at = "2026-01-01T00:00:00Z";
    const begin = { id: "w", sets: [], shots: [], started_at: at, touched_at: at, changed: true };
    const blank = { ...begin, ...facts };
    const start = page(blank);
    for (let turn = 0; turn < 6; turn += 1) act(start);
    const [mine, theirs] = [page(start.work), page(start.work)];
    for (let turn = 0; turn < 8; turn += 1) act(chance() < 0.5 ? mine : theirs);
    const both = merged(mine.work, theirs.work, start.work);
    const [s, m, t, b] = [start.work, mine.work, theirs.work, both].map(sum);
    const isSum = b.every((value, index) => value === m[index] + t[index] - s[index]);
    if (!isSum) wrong.push([seed, s, m, t, b]);
    const again = JSON.stringify(sum(merged(mine.work, both, mine.work)));
    if (again !== JSON.stringify(b)) wrong.push([seed, "again", b, again]);
    const rest = sum(since(mine.work, start.work));
    if (rest[1] < m[1] - s[1]) wrong.push([seed, "since", s, m, rest]);
  }
  return wrong;
}"""
