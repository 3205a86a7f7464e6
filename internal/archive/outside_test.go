package archive

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/outside"
	"github.com/evenstroke/evenstroke/internal/record"
)

// TestDigestByHand computes the digests of an archive from the words of the documentation alone: SHA-256 (FIPS 180-4) over the digest
// before it, then each field with its length as 8 bytes, numbers as 8 bytes, times in microseconds.
func TestDigestByHand(t *testing.T) {
	a := newWorkshop(t, "sqlite", "Aldersay", 3)
	job := a.book("u1", a.usual("Ferry yard", "ALD-1", ""))
	a.write(job, 0, &record.Found{Part: "piston", Text: "worn", Tool: a.tools[1]})
	prev := make([]byte, 32)
	for _, line := range bytes.Split(bytes.TrimSpace(unpack(t, a.export(job))[entriesName]), []byte("\n")) {
		var l struct {
			Subject, Seq, At, Stored, By, Device, Corrects int64
			Kind, Key, Body, Prev, Hash                    string
		}
		if err := json.Unmarshal(line, &l); err != nil {
			t.Fatal(err)
		}
		buf := bytes.NewBuffer(bytes.Clone(prev))
		put := func(v any) {
			switch v := v.(type) {
			case string:
				buf.Write(binary.BigEndian.AppendUint64(nil, uint64(len(v))))
				buf.WriteString(v)
			case int64:
				buf.Write(binary.BigEndian.AppendUint64(nil, 8))
				buf.Write(binary.BigEndian.AppendUint64(nil, uint64(v)))
			}
		}
		for _, v := range []any{"job", l.Subject, l.Seq, l.Kind, l.At, l.Stored, l.By, l.Device, l.Key, l.Corrects, l.Body} {
			put(v)
		}
		sum := sha256.Sum256(buf.Bytes())
		if l.Prev != fmt.Sprintf("%x", prev) || l.Hash != fmt.Sprintf("%x", sum) {
			t.Fatalf("entry %d: digest %s after %s, by hand %x after %x", l.Seq, l.Hash, l.Prev, sum, prev)
		}
		prev = sum[:]
	}
}

// TestOtherReader lets another program read an archive: the zipfile module of Python, where there is one.
func TestOtherReader(t *testing.T) {
	python := outside.Program(t, "python3", "python3")
	a := newWorkshop(t, "sqlite", "Aldersay", 1)
	job := a.book("u1", a.usual("Ferry yard", "ALD-1", ""))
	a.write(job, 0, &record.Pictured{Photo: a.photo(rand.New(rand.NewPCG(1, 2)))})
	path := filepath.Join(t.TempDir(), "job.zip")
	if err := os.WriteFile(path, a.export(job), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(python, "-c", `
import sys, zipfile, json, hashlib
z = zipfile.ZipFile(sys.argv[1])
assert z.testzip() is None
m = json.loads(z.read("manifest.json"))
assert sorted(x["name"] for x in m["members"]) + ["manifest.json"] == sorted(n for n in z.namelist() if n != "manifest.json") + ["manifest.json"]
for x in m["members"]:
    assert hashlib.sha256(z.read(x["name"])).hexdigest() == x["sha256"], x
assert len(z.read("entries.jsonl").splitlines()) == m["counts"]["entries"] == 2
print("sound")`, path).CombinedOutput()
	if err != nil || strings.TrimSpace(string(out)) != "sound" {
		t.Errorf("%v: %s", err, out)
	}
}
