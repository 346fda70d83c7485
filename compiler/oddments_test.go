package compiler_test

// oddments is a workspace that has a bit of everything, and is computed at once.
const oddments = `axis throttle [%] 0..100
axis rpm [rpm] 1000..10000
given altitude [m] = 40 within -400..4500
given temp [degC] = 20
given pipe from pipes = stock
given blend from blends = pump
given hot = no
catalog pipes {
  name  | length [mm] | gain | extra [mg]
  stock | 740         | 1    | 0
  long  | 780         | 1.5  | 0.5
}
catalog blends from "blends.csv"
let offset [mg] = 2
let share = spare(3)
fn lean(x) = 1 - x / 100
fn spare(x) = lean(x) * 2 - 0.5
curve pull [mg] {
  rpm [rpm] | 2000 6000
            | 1    3
}
curve aged {
  hours | 0 10 20
        | 1 0.9 0.7
}
region top = rpm 4000.. feather 1000, throttle 50..
region low = rpm ..4000

map fuel [mg] to 0.01 {
  throttle \ rpm | 2000 4000 6000
  0              | 4    5    6
  50             | 10   20   _
  100            | 12   25   30
}

map spark [deg] to 0.1 {
  throttle \ rpm | 2000 4000 6000 8000
  0              | 20   25   28   28
  100            | 10   14   16   15
}

map cold [%] { rpm | 1000 5000 9000
  | 10 5 0
}

map time [ms] to 0.001 like fuel = fuel / 10 [mg/ms] + (if hot then 0.2 ms else 0.1 ms)

map ratio like time = time / 1 ms * cold

rule thin_air corrects altitude {
  fuel *= 1 - altitude / 10000 m
}

rule fuels {
  fuel *= blends.pump.stoich / blend.stoich
}

rule weak {
  fuel *= spare(share) over low
  spark -= 1 deg where fuel > 10
}

rule pulls when hot {
  fuel += pull(rpm) over top
  spark = spark(throttle, rpm * 1.1)
}

rule long_pipe when pipe is long {
  fuel += offset * pipe.gain + pipe.extra over top
  fuel *= aged(12)
  spark += 2 deg over rpm 3000..5000 feather 500
}

limit cap: fuel <= 26 mg else clamp

limit advance: 8 deg <= spark <= 27 deg when not hot else clamp

limit window: fuel <= 100 mg

variant home { }

variants trips {
  pipe = stock, long
  altitude = 40 m, 900 m
  hot = yes, no
}

variant away from trips/long-900m-hot {
  altitude = 1000 m
  blend = race
  trim fuel -= 1 mg
}

variant late from away {
  hot = no
  trim spark += 1 deg over top
  trim fuel *= 1.01
}
`

const oddBlends = "name,stoich,maker [text]\npump,14.6,Tussock\nrace,14.1,Saddle\n"
