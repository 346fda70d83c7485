package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// smallDisk is where the test that runs with a disk of its own has it.
const smallDisk = "FETTLE_TEST_SMALL_DISK"

// TestFullDisk fills a small disk to within a page of what a build needs, for every
// number of pages: the old output stays whole, the message says what to do, nothing
// is left, and with room again the build works. The disk is one in memory that only a
// process of the test sees.
func TestFullDisk(t *testing.T) {
	if dir := os.Getenv(smallDisk); dir != "" {
		onSmallDisk(t, dir)
		return
	}
	cmd := exec.Command(os.Args[0], "-test.run=^TestFullDisk$", "-test.v")
	cmd.Env = append(os.Environ(), smallDisk+"="+t.TempDir())
	cmd.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWNS}
	if os.Geteuid() != 0 {
		cmd.SysProcAttr.Cloneflags |= syscall.CLONE_NEWUSER
		cmd.SysProcAttr.UidMappings = []syscall.SysProcIDMap{{HostID: os.Getuid(), Size: 1}}
		cmd.SysProcAttr.GidMappings = []syscall.SysProcIDMap{{HostID: os.Getgid(), Size: 1}}
	}
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &said
	if err := cmd.Start(); err != nil {
		t.Skipf("no disk can be made for the test alone: %v", err)
	}
	err := cmd.Wait()
	switch {
	case err != nil:
		t.Fatalf("%v\n%s", err, said.String())
	case strings.Contains(said.String(), "--- SKIP"):
		t.Skip(said.String())
	}
	t.Log(said.String())
}

func onSmallDisk(t *testing.T, disk string) {
	if err := syscall.Mount("", "/", "", syscall.MS_REC|syscall.MS_PRIVATE, ""); err != nil {
		t.Skip(err)
	}
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=512k"); err != nil {
		t.Skip(err)
	}
	page := os.Getpagesize()
	ballast := filepath.Join(disk, "ballast")
	// fill leaves so many pages free.
	fill := func(pages int) {
		t.Helper()
		if err := os.WriteFile(ballast, nil, 0o666); err != nil {
			t.Fatal(err)
		}
		var st syscall.Statfs_t
		if err := syscall.Statfs(disk, &st); err != nil {
			t.Fatal(err)
		}
		room := int(st.Bavail)*int(st.Bsize)/page - pages
		if room < 0 {
			t.Fatalf("the disk is too small for %d pages", pages)
		}
		if err := os.WriteFile(ballast, make([]byte, room*page), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	base := filepath.Join(disk, "base")
	if err := os.Mkdir(base, 0o777); err != nil {
		t.Fatal(err)
	}
	s := firstSite(t, filepath.Join(base, "out"))
	args := s.args(work{args: []string{"--format", "csv,json"}}, s.out)
	mustRun(t, args...)
	old := mustBeWhole(t, s.out)
	s.prepare(work{value: 1})
	failed := 0
	for pages := 0; ; pages++ {
		fill(pages)
		code, said := fettle(t, args...)
		is := mustBeWhole(t, s.out)
		if others, litter := besides(t, s.out); len(others)+len(litter) > 0 {
			t.Fatalf("with %d pages there is %q and %q beside the output", pages, others, litter)
		}
		if code == exitOK {
			if is.differs(old) == "" || failed == 0 {
				t.Fatalf("with %d pages nothing is written, or the disk was never full", pages)
			}
			break
		}
		failed++
		if d := old.differs(is); d != "" {
			t.Fatalf("with %d pages the old output isn't what it was: %s", pages, d)
		}
		if code != exitWrong || strings.Count(said, "\n") != 1 || !strings.Contains(said, " can't be ") || !strings.Contains(said, ": the disk is full: make room, and try again") {
			t.Fatalf("with %d pages: %d\n%s", pages, code, said)
		}
		if pages > 0 && !strings.HasSuffix(said, fmt.Sprintf(" (%s is as it was)\n", shown(s.out))) {
			t.Fatalf("with %d pages: %s", pages, said)
		}
	}
	// What is written in the place of a file is a file of its own until it is whole.
	path, text := filepath.Join(base, "tune.fettle"), "axis rpm[rpm] 1000..9000\n"+strings.Repeat("# a remark\n", 1000)
	_ = os.Remove(ballast)
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	for pages := range 3 {
		fill(pages)
		code, said := fettle(t, "fmt", path)
		if got, err := os.ReadFile(path); err != nil || string(got) != text || code != exitWrong || !strings.Contains(said, "can't be written: the disk is full: make room, and try again") {
			t.Fatalf("fmt: %d, %d bytes of %d, %v\n%s", code, len(got), len(text), err, said)
		}
	}
	fill(8)
	mustRun(t, "fmt", path)
	if others, litter := besides(t, s.out); len(others) != 1 || len(litter) > 0 {
		t.Errorf("there is %q and %q", others, litter)
	}
	t.Logf("%d builds met a full disk", failed)
}
