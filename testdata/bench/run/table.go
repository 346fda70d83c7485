package main

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"time"
)

// A result is what was measured of one program.
type result struct {
	name, version string
	n             int
	took          []time.Duration // sorted
	apart         float64         // the largest relative difference from fettle's cells
}

// cellsPerTune is two maps of 20 by 24.
const cellsPerTune = 2 * 20 * 24

// table is the results in Markdown. An even number of runs has the later of the
// two in the middle as its median.
func table(done []result) string {
	var s strings.Builder
	s.WriteString("| program | N | ms in all | µs a tune | ns a cell | least .. most | cells differ by | version |\n")
	s.WriteString("| --- | ---: | ---: | ---: | ---: | ---: | ---: | --- |\n")
	for _, r := range done {
		perCell := func(d time.Duration) string { return short(float64(d) / float64(r.n*cellsPerTune)) }
		median := r.took[len(r.took)/2]
		fmt.Fprintf(&s, "| %s | %d | %s | %s | %s | %s .. %s | %.1g | %s |\n", r.name, r.n, short(median.Seconds()*1e3),
			short(median.Seconds()*1e6/float64(r.n)), perCell(median), perCell(r.took[0]), perCell(r.took[len(r.took)-1]), r.apart, r.version)
	}
	return s.String()
}

// short writes a positive number with three digits.
func short(x float64) string {
	if x >= 100 {
		return fmt.Sprintf("%.0f", x)
	}
	return fmt.Sprintf("%.*f", 2-max(0, int(math.Floor(math.Log10(x)))), x)
}

// machine tells where the numbers are from.
func machine(dir string) string {
	var s strings.Builder
	cpu := runtime.GOARCH
	if text, err := os.ReadFile("/proc/cpuinfo"); err == nil {
		for line := range strings.Lines(string(text)) {
			if name, ok := strings.CutPrefix(line, "model name"); ok {
				cpu = strings.Trim(name, "\t :\n")
				break
			}
		}
	}
	said := func(name string, args ...string) string {
		cmd := exec.Command(name, args...)
		cmd.Dir = dir
		out, err := cmd.Output()
		if err != nil {
			return "unknown"
		}
		return strings.TrimSpace(string(out))
	}
	fmt.Fprintf(&s, "%s, %d processors; %s\n", cpu, runtime.NumCPU(), said("uname", "-sr"))
	fmt.Fprintf(&s, "%s; fettle %s\n", runtime.Version(), said("git", "describe", "--always", "--dirty"))
	return s.String()
}

// load tells how busy the machine was in the last one, five and fifteen minutes.
func load(when string) string {
	text, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return ""
	}
	return fmt.Sprintf("load %s: %s\n", when, strings.Join(strings.Fields(string(text))[:3], " "))
}

// apart compares two files of cells and gives the largest difference, relative to
// the second's.
func apart(got, want string) (float64, error) {
	a, err := os.ReadFile(got)
	if err != nil {
		return 0, err
	}
	b, err := os.ReadFile(want)
	if err != nil {
		return 0, err
	}
	if len(a) != len(b) {
		return 0, fmt.Errorf("%d bytes of cells, not %d", len(a), len(b))
	}
	most := 0.0
	for i := 0; i < len(a); i += 8 {
		x, y := math.Float64frombits(binary.LittleEndian.Uint64(a[i:])), math.Float64frombits(binary.LittleEndian.Uint64(b[i:]))
		d := math.Abs(x - y)
		if y != 0 {
			d /= math.Abs(y)
		}
		if !(d <= most) { // also where d is not a number
			most = d
		}
	}
	return most, nil
}
