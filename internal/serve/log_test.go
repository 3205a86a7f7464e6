package serve

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"
)

// forgedPath asks for an address whose path would begin a line of its own, if it were written as it came.
const forgedPath = "/x%0Atime=2027-01-01T00:00:00Z%20level=INFO%20msg=%22signed%20in%22%20person=1%0D%0A%7B%22msg%22:%22signed%20in%22,%22time%22:%22x%22%7D%1B[31m"

// TestLogOfTheServer: the log of the running server itself is one record a line, with its time and zone, in both forms, whatever somebody asks for.
func TestLogOfTheServer(t *testing.T) {
	for _, machines := range []bool{false, true} {
		cfg := config(t)
		cfg.LAN, cfg.LogJSON = "none", machines
		r := start(t, cfg)
		url := r.wait(t, "On this machine: ")
		if code, _ := get(t, http.DefaultClient, url+forgedPath); code == http.StatusOK {
			t.Errorf("%d", code)
		}
		r.end(t)
		lines := strings.Split(strings.TrimSuffix(r.log.String(), "\n"), "\n")
		requests := 0
		for _, line := range lines {
			msg, at := readLine(t, machines, line)
			if _, err := time.Parse(time.RFC3339Nano, at); err != nil || msg == "" || msg == "signed in" || strings.ContainsAny(line, "\r\x1b") {
				t.Errorf("JSON %v: %q", machines, line)
			}
			if msg == "request" {
				requests++
			}
		}
		if requests != 1 || len(lines) < 3 {
			t.Errorf("JSON %v: %d lines of requests in %d", machines, requests, len(lines))
		}
	}
}

// readLine reads the message and the time of a line, as a program would that reads the log.
func readLine(t *testing.T, machines bool, line string) (msg, at string) {
	t.Helper()
	if machines {
		var v struct{ Msg, Time string }
		if err := json.Unmarshal([]byte(line), &v); err != nil {
			t.Errorf("%q: %v", line, err)
		}
		return v.Msg, v.Time
	}
	at, rest, _ := strings.Cut(strings.TrimPrefix(line, "time="), " ")
	_, rest, _ = strings.Cut(rest, " msg=")
	msg, _, _ = strings.Cut(rest, " ")
	return strings.Trim(msg, `"`), at
}
