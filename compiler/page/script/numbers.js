// Numbers, written as the compiler writes them.

// six writes a number to six significant digits, half to even on its shortest
// decimal text, without an exponent.
function six(x) {
  if (!Number.isFinite(x)) return String(x);
  if (x === 0) return "0";
  let [, digits, exp] = /^([\d.]+)e([+-]\d+)$/.exec(Math.abs(x).toExponential());
  digits = digits.replace(".", "");
  exp = Number(exp) - (digits.length - 1);
  if (digits.length > 6) {
    const rest = digits.slice(6);
    const even = Number(digits[5]) % 2 === 0;
    const up = rest[0] > "5" || (rest[0] === "5" && (rest.length > 1 || !even));
    exp += digits.length - 6;
    digits = String(Number(digits.slice(0, 6)) + (up ? 1 : 0));
  }
  return (x < 0 ? "-" : "") + decimal(digits, exp);
}

// decimal writes digits times a power of ten.
function decimal(digits, exp) {
  const cut = digits.replace(/0+$/, "");
  exp += digits.length - cut.length;
  if (exp >= 0) return cut + "0".repeat(exp);
  const whole = cut.padStart(1 - exp, "0");
  return whole.slice(0, exp) + "." + whole.slice(exp);
}

// plain writes a number with so many decimals; -1 for as many as it has.
function plain(x, decimals) {
  if (decimals < 0) {
    const [, digits, exp] = /^([\d.]+)e([+-]\d+)$/.exec(Math.abs(x).toExponential());
    if (x === 0) return "0";
    const all = digits.replace(".", "");
    return (x < 0 ? "-" : "") + decimal(all, Number(exp) - (all.length - 1));
  }
  const s = x.toFixed(decimals);
  return /^-0\.?0*$/.test(s) ? s.slice(1) : s;
}

// signed writes a change, with its sign.
function signed(x, decimals) {
  const s = plain(x, decimals);
  return x > 0 && /[1-9]/.test(s) ? "+" + s : s;
}

// percent writes a share: one decimal, none for a large one, more where there
// would be nothing to see.
function percent(share) {
  const p = share * 100;
  let decimals = Math.abs(p) >= 100 ? 0 : 1;
  while (p !== 0 && decimals < 9 && !/[1-9]/.test(plain(p, decimals))) decimals++;
  return signed(p, decimals) + " %";
}

// inUnit puts a unit behind a number.
function inUnit(text, unit) {
  return unit ? text + " " + unit : text;
}

// counted is "1 tune" or "3 tunes".
function counted(n, one) {
  return n + " " + one + (n === 1 ? "" : "s");
}
