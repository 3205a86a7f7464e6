//go:build unix

package cli

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// served is `evenstroke serve` as a process of its own, with its log as JSON.
type served struct {
	cmd   *exec.Cmd
	lines chan map[string]any // of its log
}

// serveIn serves the folder and waits until the shop can be reached.
func serveIn(t *testing.T, dir string) *served {
	t.Helper()
	s := &served{cmd: exec.Command("evenstroke", "serve", "--log-json", "--listen", "127.0.0.1:0", "--lan", "none", "--data", dir), lines: make(chan map[string]any, 100)}
	log, err := s.cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if s.cmd.ProcessState == nil {
			_ = s.cmd.Process.Kill() // it may have ended by itself
			_ = s.cmd.Wait()
		}
	})
	go func() {
		defer close(s.lines)
		for in := bufio.NewScanner(log); in.Scan(); {
			var line map[string]any
			if err := json.Unmarshal(in.Bytes(), &line); err != nil {
				t.Errorf("the log says %q, which is no JSON", in.Text())
			}
			s.lines <- line
		}
	}()
	return s
}

// until gives the next line of the log that has this message.
func (s *served) until(t *testing.T, msg string) map[string]any {
	t.Helper()
	patience := time.After(time.Minute)
	for {
		select {
		case line, ok := <-s.lines:
			if !ok {
				t.Fatalf("the log ended before it said %q", msg)
			}
			if line["msg"] == msg {
				return line
			}
		case <-patience:
			t.Fatalf("within a minute the log did not say %q", msg)
		}
	}
}

func (s *served) end(t *testing.T, sig os.Signal) error {
	t.Helper()
	if err := s.cmd.Process.Signal(sig); err != nil {
		t.Fatal(err)
	}
	return s.cmd.Wait()
}

// One folder is served once. The second who tries hears who serves it; copying and checking go on beside it, taking in and putting back do not;
// after a kill nobody is locked out. The log says what became of the process.
func TestServedOnce(t *testing.T) {
	demoShop(t)
	runOK(t, "evenstroke export 1 job.zip")
	first := serveIn(t, "evenstroke-data")
	abs, err := filepath.Abs("evenstroke-data/workshop.db")
	if err != nil {
		t.Fatal(err)
	}
	begun := first.until(t, "started")
	if begun["version"] != Version || begun["records"] != abs || begun["process"] != float64(first.cmd.Process.Pid) || begun["engine"] != "sqlite" || begun["schema"].(float64) < 4 {
		t.Errorf("at the start it says %v", begun)
	}
	if at := first.until(t, "listening"); !strings.HasPrefix(at["address"].(string), "http://127.0.0.1:") || at["for"] != "this machine" {
		t.Errorf("it listens %v", at)
	}
	runOK(t, "evenstroke backup copy.db")
	runOK(t, "evenstroke verify")
	for _, line := range []string{"evenstroke serve --listen 127.0.0.1:0 --lan none", "evenstroke restore copy.db", "evenstroke import job.zip"} {
		_, errw, code := runLine(line)
		if want := fmt.Sprintf("in use by evenstroke serve (process %d on ", first.cmd.Process.Pid); code != exitInput || !strings.Contains(errw, want) || !strings.Contains(errw, "stop that process") {
			t.Errorf("%s: exit %d, says %q, expected %q", line, code, errw, want)
		}
	}
	if err := first.end(t, syscall.SIGTERM); err != nil {
		t.Errorf("after SIGTERM: %v", err)
	}
	if l := first.until(t, "stopping"); l["why"] != "terminated signal received" {
		t.Errorf("it stops: %v", l)
	}
	if l := first.until(t, "stopped"); l["why"] != "terminated signal received" || l["took"] == nil || l["level"] != "INFO" {
		t.Errorf("it stopped: %v", l)
	}
	second := serveIn(t, "evenstroke-data")
	second.until(t, "listening")
	var died *exec.ExitError
	if err := second.end(t, syscall.SIGKILL); !errors.As(err, &died) {
		t.Errorf("after SIGKILL: %v", err)
	}
	third := serveIn(t, "evenstroke-data")
	third.until(t, "listening")
}
