// The tables of W(N) in jsonnet: a function of the work (rows, cols, the bases,
// catalogues and the tunes' conditions) that gives [fuel, spark] of each tune. For
// `go run ./testdata/bench/run`.
function(work)
  local clip(x) = std.max(0, std.min(1, x));
  local up(x, from, feather) = clip(1 - (from - x) / feather);
  local down(x, to, feather) = clip(1 - (x - to) / feather);
  local cols = work.cols;
  local last = std.length(cols) - 1;

  // A table from a function of throttle and rpm.
  local table(f) = [[f(t, n) for n in cols] for t in work.rows];
  local hit = table(function(t, n) up(n, 8000, 1200) * down(n, 10500, 1200) * up(t, 40, 25));
  local low = table(function(t, n) down(n, 5000, 1500) * down(t, 30, 20));
  local raised = [[1 + h * 0.04 for h in row] for row in hit];
  local fuelMap = {
    base: work.fuel,
    bent: table(function(t, n)
      local x = n / 10000, y = t / 100;
      1 + 0.03 * x * y - 0.02 * x * x + 0.01 * y * y),
    part: low,
    most: 21,
  };
  local sparkMap = {
    base: work.spark,
    bent: table(function(t, n)
      local x = n / 10000, y = t / 100;
      1 - 0.02 * x * y + 0.01 * x * x - 0.01 * y * y),
    part: hit,
    most: 29.5,
  };

  // Where each column stands among the breakpoints when rpm is multiplied by the shift.
  local knots(shift) = [
    local at = std.max(cols[0], std.min(cols[last], n * shift));
    local lo = std.min(last - 1, std.floor((at - cols[0]) / (cols[1] - cols[0])));
    { lo: lo, frac: (at - cols[lo]) / (cols[lo + 1] - cols[lo]) }
    for n in cols
  ];
  local pipeKnots = { [p]: knots(work.pipes[p].tuned / work.pipes.stock.tuned) for p in std.objectFields(work.pipes) };

  local tune(m, factor, less, knots) = [
    local row = [m.base[r * 24 + c] * factor * raised[r][c] for c in std.range(0, last)];
    [
      local k = knots[c];
      local a = row[k.lo];
      std.min(m.most, (a + k.frac * (row[k.lo + 1] - a)) * m.bent[r][c] - less * m.part[r][c])
      for c in std.range(0, last)
    ]
    for r in std.range(0, std.length(work.rows) - 1)
  ];

  [
    local thin = std.pow(1 - t.altitude / 44330, 5.2559) * std.sqrt(293.15 / (t.air_temp + 273.15));
    local blend = work.blends[t.blend];
    local trust = work.pipes[t.pipe].trust / work.pipes.stock.trust;
    [
      tune(fuelMap, thin * (work.blends.pump98.stoich / blend.stoich) * trust, if t.air_temp < 12 then 0.08 else 0, pipeKnots[t.pipe]),
      tune(sparkMap, thin * (work.blends.pump98.octane / blend.octane) * trust, if t.air_temp > 28 then 1.5 else 0, pipeKnots[t.pipe]),
    ]
    for t in work.tunes
  ]
