package main

import (
	"bytes"
	"compress/gzip"
	"context"
	"io"
	"net"
	"net/http"
	"path"
	"regexp"
	"strings"
	"sync/atomic"
)

// Files that a page asks for: in the page, in its scripts, in its style.
var (
	inPage   = regexp.MustCompile(`(?:href|src)="(/static/[^"#]+|/manifest\.webmanifest)`)
	inScript = regexp.MustCompile(`(?:import|from) ?\(?"(\./[^"]+)"`)
	inStyle  = regexp.MustCompile(`url\("?([^)"#]+)"?\)`)
)

// counted is a connection that counts the bytes that come in.
type counted struct {
	net.Conn
	n *atomic.Int64
}

func (c counted) Read(p []byte) (int, error) {
	n, err := c.Conn.Read(p)
	c.n.Add(int64(n))
	return n, err
}

// wireSize is how many bytes come over the wire when a page is opened for the first time: the page and every file it names, by its
// scripts and its style too, with the heads of the answers. Scripts that a page may or may not load are counted.
func wireSize(ctx context.Context, base string, p pass, page string) (int64, error) {
	var n atomic.Int64
	var d net.Dialer
	client := &http.Client{Transport: &http.Transport{DisableCompression: true, DialContext: func(ctx context.Context, network, addr string) (net.Conn, error) {
		c, err := d.DialContext(ctx, network, addr)
		return counted{c, &n}, err
	}}}
	defer client.CloseIdleConnections()
	had, todo := map[string]bool{}, []string{page}
	for len(todo) > 0 {
		at := todo[0]
		todo = todo[1:]
		if had[at] {
			continue
		}
		had[at] = true
		var buf bytes.Buffer
		if err := ask(ctx, client, base, p, get(at), &buf); err != nil {
			return 0, err
		}
		find := inPage
		switch path.Ext(at) {
		case ".js":
			find = inScript
		case ".css":
			find = inStyle
		}
		for _, m := range find.FindAllStringSubmatch(plainText(buf.Bytes()), -1) {
			if to := m[1]; strings.HasPrefix(to, "/") {
				todo = append(todo, to)
			} else if !strings.HasPrefix(to, "data:") {
				todo = append(todo, path.Join(path.Dir(at), to))
			}
		}
	}
	return n.Load(), nil
}

// plainText undoes the compression of an answer that has one.
func plainText(data []byte) string {
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		return string(data)
	}
	text, err := io.ReadAll(z)
	if err != nil {
		return string(data)
	}
	return string(text)
}
