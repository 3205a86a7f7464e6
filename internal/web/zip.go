package web

import (
	"bytes"
	"net/http"
	"strings"
	"sync"

	"github.com/klauspost/compress/gzip" // takes half the time of the one of Go and makes pages a tenth smaller
)

// zips says whether the answer to a request may be compressed: it is a page that the tablet itself asked for, by a link of a page of
// this server or by hand (Sec-Fetch-Site, W3C Fetch Metadata). Where the length of a compressed page tells what is in it, somebody who
// can put words into the page and watch its length can guess at the rest of it (the attack named BREACH, 2013). Neither can be had
// here: a page of somebody else cannot ask for a compressed answer, and what is secret for once (a code for a device, a token) stands
// only in answers to a POST.
func zips(r *http.Request) bool {
	if r.Method != http.MethodGet || !strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		return false
	}
	site := r.Header.Get("Sec-Fetch-Site")
	return site == "same-origin" || site == "none"
}

// leastZipped is the length from which compressing is worth it: what fits into one packet comes no sooner when it is shorter.
const leastZipped = 1400

var (
	buffers = sync.Pool{New: func() any { return new(bytes.Buffer) }}
	zippers = sync.Pool{New: func() any {
		z, err := gzip.NewWriterLevel(nil, gzip.BestSpeed)
		if err != nil {
			panic(err) // the level is one that there is
		}
		return z
	}}
)

// mostKept is the size of the largest buffer that is kept for the next page.
const mostKept = 1 << 20

func giveBack(b *bytes.Buffer) {
	if b.Cap() <= mostKept {
		b.Reset()
		buffers.Put(b)
	}
}

// send writes a page, compressed when zip says so.
func send(w http.ResponseWriter, status int, zip bool, page *bytes.Buffer) error {
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Add("Vary", "Accept-Encoding")
	if !zip || page.Len() < leastZipped {
		w.WriteHeader(status)
		_, err := w.Write(page.Bytes())
		return wrote(err)
	}
	h.Set("Content-Encoding", "gzip")
	w.WriteHeader(status)
	z := zippers.Get().(*gzip.Writer)
	defer zippers.Put(z)
	z.Reset(w)
	if _, err := z.Write(page.Bytes()); err != nil {
		return wrote(err)
	}
	return wrote(z.Close())
}
