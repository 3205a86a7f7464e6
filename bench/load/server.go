package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"time"
)

// build builds the program as it is released.
func build(dir string) (string, error) {
	bin := filepath.Join(dir, "evenstroke")
	cmd := exec.Command("go", "build", "-trimpath", "-ldflags", "-s -w", "-o", bin, "github.com/evenstroke/evenstroke/cmd/evenstroke")
	cmd.Stdout, cmd.Stderr = os.Stderr, os.Stderr
	return bin, cmd.Run()
}

// server is the program as a process of its own, on a loopback address only.
type server struct {
	cmd  *exec.Cmd
	url  string
	log  *os.File
	took time.Duration // from its start to the first page
}

// serve starts the program and waits for its first page: the board, for somebody who is signed in.
func serve(ctx context.Context, bin, dir, database string, p pass) (*server, error) {
	log, err := os.Create(filepath.Join(dir, "server.log"))
	if err != nil {
		return nil, err
	}
	listen, err := freeAddress()
	if err != nil {
		return nil, err
	}
	args := []string{"serve", "--listen", listen, "--lan", "none", "--trust", "none", "--data", dir}
	if database != "" {
		args = append(args, "--database", database)
	}
	s := &server{cmd: exec.Command(bin, args...), url: "http://" + listen, log: log}
	s.cmd.Stdout, s.cmd.Stderr = io.Discard, log
	client := &http.Client{Transport: &http.Transport{DisableCompression: true}, Timeout: 10 * time.Second}
	defer client.CloseIdleConnections()
	begin := time.Now()
	if err := s.cmd.Start(); err != nil {
		return nil, errors.Join(err, log.Close())
	}
	for ctx.Err() == nil && time.Since(begin) < time.Minute {
		if err = ask(ctx, client, s.url, p, get("/"), io.Discard); err == nil {
			s.took = time.Since(begin)
			return s, nil
		}
		time.Sleep(2 * time.Millisecond)
	}
	return nil, errors.Join(fmt.Errorf("the program does not answer; its log is %s: %w", log.Name(), err), ctx.Err(), s.stop())
}

func freeAddress() (string, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	return l.Addr().String(), l.Close()
}

func (s *server) stop() error {
	err := s.cmd.Process.Signal(syscall.SIGTERM)
	return errors.Join(err, s.cmd.Wait(), s.log.Close())
}

// ask asks one question and reads the whole answer.
func ask(ctx context.Context, client *http.Client, base string, p pass, q question, to io.Writer) error {
	var body io.Reader
	if q.body != "" {
		body = strings.NewReader(q.body)
	}
	r, err := http.NewRequestWithContext(ctx, q.method, base+q.path, body)
	if err != nil {
		return err
	}
	p.show(r.Header)
	if q.body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	res, err := client.Do(r)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	if res.StatusCode >= 400 {
		text, _ := io.ReadAll(io.LimitReader(res.Body, 500)) // only to say more
		return fmt.Errorf("%s %s: %s: %s", q.method, q.path, res.Status, text)
	}
	_, err = io.Copy(to, res.Body)
	return err
}

// resident is the resident memory of a process [bytes].
func resident(pid int) int64 {
	f, err := os.Open(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	defer f.Close()
	for lines := bufio.NewScanner(f); lines.Scan(); {
		var kb int64
		if n, _ := fmt.Sscanf(lines.Text(), "VmRSS: %d kB", &kb); n == 1 {
			return kb << 10
		}
	}
	return 0
}

// tick is the unit of the times in /proc, 1/100 s on every Linux (sysconf _SC_CLK_TCK).
const tick = 10 * time.Millisecond

// cpu is the processor time that processes took so far.
func cpu(pids ...int) time.Duration {
	var sum time.Duration
	for _, pid := range pids {
		text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
		if err != nil {
			continue // it has ended
		}
		f := strings.Fields(string(text[strings.LastIndexByte(string(text), ')')+1:]))
		var user, system int64
		if _, err := fmt.Sscan(f[11]+" "+f[12], &user, &system); err == nil {
			sum += time.Duration(user+system) * tick
		}
	}
	return sum
}

// busy is the processor time that all of the machine took so far, and what the host of a virtual machine took away from it.
func busy() (used, stolen time.Duration) {
	text, err := os.ReadFile("/proc/stat")
	if err != nil {
		return 0, 0
	}
	var user, nice, system, idle, wait, irq, soft, steal int64
	if _, err := fmt.Sscanf(string(text), "cpu %d %d %d %d %d %d %d %d", &user, &nice, &system, &idle, &wait, &irq, &soft, &steal); err != nil {
		return 0, 0
	}
	return time.Duration(user+nice+system+irq+soft) * tick, time.Duration(steal) * tick
}

// children gives the child processes of a process.
func children(pid int) []int {
	var out []int
	files, err := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/children", pid))
	if err != nil {
		return nil
	}
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			continue
		}
		for _, f := range strings.Fields(string(text)) {
			var child int
			if _, err := fmt.Sscan(f, &child); err == nil {
				out = append(out, child)
			}
		}
	}
	return out
}
