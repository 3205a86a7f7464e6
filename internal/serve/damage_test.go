package serve

import (
	"bytes"
	"encoding/json"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// A file with a flipped page is served, and everybody who asks hears of it: /healthz, the log.
func TestDamagedFileIsTold(t *testing.T) {
	cfg := config(t)
	cfg.Demo, cfg.LAN = true, "none"
	r := start(t, cfg)
	r.wait(t, "The demo workshop (all invented): ")
	r.end(t)
	path := filepath.Join(cfg.Data, "workshop.db")
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	const page = 4096
	at := bytes.LastIndex(file, []byte("Inner islands ferry line")) / page * page
	if at <= 0 {
		t.Fatal("the customer does not stand in the file")
	}
	for i := at; i < at+page; i++ {
		file[i] ^= 0xff
	}
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	cfg.Demo = false
	r = start(t, cfg)
	url := r.wait(t, "On this machine: ")
	code, body := get(t, http.DefaultClient, url+"/healthz")
	var got struct {
		Status   string
		Troubles []string
	}
	if err := json.Unmarshal([]byte(body), &got); err != nil || code != http.StatusServiceUnavailable || got.Status != "failing" || !slices.Contains(got.Troubles, "damaged") {
		t.Errorf("%d %s", code, body)
	}
	if log := r.log.String(); !strings.Contains(log, `level=ERROR msg="the records are damaged"`) || !strings.Contains(log, "restore the last backup") {
		t.Errorf("the log: %s", log)
	}
}
