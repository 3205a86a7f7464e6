package serve

import (
	"bufio"
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"sync"
	"testing"
)

// blankPNG is a picture of zeros, RGBA with so many bits a colour, made row by row (W3C PNG sections 5.3 and 11.2, from memory).
func blankPNG(t *testing.T, width, height uint32, bits byte) []byte {
	t.Helper()
	var out bytes.Buffer
	out.WriteString("\x89PNG\r\n\x1a\n")
	chunk := func(kind string, data []byte) {
		head := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
		body := append([]byte(kind), data...)
		out.Write(append(head, binary.BigEndian.AppendUint32(body, crc32.ChecksumIEEE(body))...))
	}
	chunk("IHDR", append(binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, width), height), bits, 6, 0, 0, 0))
	var idat bytes.Buffer
	z := zlib.NewWriter(&idat)
	row := make([]byte, 1+int(width)*4*int(bits)/8)
	for range height {
		if _, err := z.Write(row); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	chunk("IDAT", idat.Bytes())
	chunk("IEND", nil)
	return out.Bytes()
}

// program is the program itself, serving a demo workshop as a process of its own, with somebody signed in.
type program struct {
	t      *testing.T
	cmd    *exec.Cmd
	url    string
	client *http.Client
}

func startProgram(t *testing.T) *program {
	t.Helper()
	bin := filepath.Join(t.TempDir(), "evenstroke")
	if out, err := exec.CommandContext(t.Context(), "go", "build", "-o", bin, "../../cmd/evenstroke").CombinedOutput(); err != nil {
		t.Fatalf("building the program: %v\n%s", err, out)
	}
	p := &program{t: t, cmd: exec.Command(bin, "serve", "--demo", "--data", t.TempDir(), "--listen", "127.0.0.1:0", "--lan", "none", "--trust", "none")}
	p.cmd.Env = append(os.Environ(), "GOGC=", "GOMEMLIMIT=")
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := p.cmd.Process.Signal(os.Interrupt); err != nil {
			t.Error(err)
		}
		_, _ = io.Copy(io.Discard, out)
		if err := p.cmd.Wait(); err != nil {
			t.Errorf("the program ended with %v", err)
		}
	})
	lines := bufio.NewReader(out)
	for p.url == "" {
		line, err := lines.ReadString('\n')
		if err != nil {
			t.Fatalf("the program said nothing of where it is: %v", err)
		}
		if m := regexp.MustCompile(`(http://\S+)/let-in#(\S+)`).FindStringSubmatch(line); m != nil {
			p.url = m[1]
			p.signIn(m[2])
		}
	}
	return p
}

func (p *program) signIn(code string) {
	p.t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		p.t.Fatal(err)
	}
	p.client = &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	for _, q := range []struct {
		path string
		form url.Values
	}{{"/let-in", url.Values{"code": {code}, "name": {"tablet"}}}, {"/door", url.Values{"person": {"1"}, "pin": {DemoPIN}}}} {
		if got := p.post(q.path, "application/x-www-form-urlencoded", []byte(q.form.Encode())); got != http.StatusSeeOther {
			p.t.Fatalf("%s: %d", q.path, got)
		}
	}
}

func (p *program) post(path, kind string, body []byte) int {
	p.t.Helper()
	r, err := http.NewRequest(http.MethodPost, p.url+path, bytes.NewReader(body))
	if err != nil {
		p.t.Error(err)
		return 0
	}
	r.Header.Set("Content-Type", kind)
	r.Header.Set("Origin", p.url)
	res, err := p.client.Do(r)
	if err != nil {
		p.t.Error(err)
		return 0
	}
	res.Body.Close()
	return res.StatusCode
}

// photo sends a picture as the page of a job does.
func (p *program) photo(data []byte) int {
	var buf bytes.Buffer
	mw := multipart.NewWriter(&buf)
	part, err := mw.CreateFormFile("photo", "x.png")
	if err == nil {
		_, err = part.Write(data)
	}
	if err != nil || mw.Close() != nil {
		p.t.Errorf("%v", err)
	}
	return p.post("/jobs/1/photos", mw.FormDataContentType(), buf.Bytes())
}

// peak is the most memory that the process had, in MB (proc_pid_status(5): VmHWM). Only Linux says that of another process: this file is for it alone.
func (p *program) peak() int {
	p.t.Helper()
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.cmd.Process.Pid))
	if err != nil {
		p.t.Fatal(err)
	}
	m := regexp.MustCompile(`VmHWM:\s+(\d+) kB`).FindSubmatch(data)
	if m == nil {
		p.t.Fatal("no VmHWM")
	}
	kb, err := strconv.Atoi(string(m[1]))
	if err != nil {
		p.t.Fatal(err)
	}
	return kb / 1024
}

// TestSixLargePictures repeats the attack: six pictures of 49 million pixels at once, small files by one person. Those with 16 bits a colour are refused
// by their header, those with 8 bits are taken one at a time; the process stays below 500 MB. It took 1,759 MB.
func TestSixLargePictures(t *testing.T) {
	p := startProgram(t)
	start := p.peak()
	for _, c := range []struct {
		bits byte
		want int
	}{{16, http.StatusRequestEntityTooLarge}, {8, http.StatusSeeOther}} {
		data := blankPNG(t, 7000, 7000, c.bits)
		var wg sync.WaitGroup
		for range 6 {
			wg.Go(func() {
				// Six of them wait for each other for longer than a person would: then it says so.
				if got := p.photo(data); got != c.want && !(got == http.StatusTooManyRequests && c.want == http.StatusSeeOther) {
					t.Errorf("%d bits: %d, want %d", c.bits, got, c.want)
				}
			})
		}
		wg.Wait()
		if got := p.photo(data); got != c.want {
			t.Errorf("%d bits alone: %d, want %d", c.bits, got, c.want)
		}
		t.Logf("%d bits, files of %d kB: %d MB at most, %d MB before the first", c.bits, len(data)>>10, p.peak(), start)
	}
	if got := p.peak(); got >= 500 {
		t.Errorf("the process took %d MB", got)
	}
}
