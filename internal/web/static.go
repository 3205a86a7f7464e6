package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"net/url"
	"path"
	"strings"

	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/internal/text"
)

//go:embed static
var staticFiles embed.FS

type asset struct {
	plain, zipped []byte
	kind          string
}

// assets are the static files. All stand under one version, the digest of all of them, so that an address may be kept for ever
// and a file may name another by its place.
type assets struct {
	by      map[string]*asset
	version string
}

func loadAssets(texts *text.Catalogue) (*assets, error) {
	a := &assets{by: map[string]*asset{}}
	all := sha256.New()
	add := func(name string, data []byte) error {
		fmt.Fprintf(all, "%s %d\n", name, len(data))
		all.Write(data)
		one, err := newAsset(name, data)
		a.by[name] = one
		return err
	}
	err := fs.WalkDir(staticFiles, "static", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := staticFiles.ReadFile(name)
		if err != nil {
			return err
		}
		return add(strings.TrimPrefix(name, "static/"), data)
	})
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	if err := add("picture.css", []byte(draw.StyleSheet())); err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	words, err := scriptWords(texts)
	if err != nil {
		return nil, err
	}
	if err := add(wordTable, words); err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	a.version = hex.EncodeToString(all.Sum(nil)[:6])
	return a, nil
}

func newAsset(name string, data []byte) (*asset, error) {
	one := &asset{plain: data, kind: mime.TypeByExtension(path.Ext(name))}
	switch path.Ext(name) {
	case ".js":
		one.kind = "text/javascript; charset=utf-8"
	case ".css":
		one.kind = "text/css; charset=utf-8"
	case ".svg": // may be text of another character set, as every kind of XML
		one.kind = "image/svg+xml; charset=utf-8"
	case ".woff2":
		one.kind = "font/woff2"
	case ".webmanifest":
		one.kind = "application/manifest+json"
	case "", ".txt":
		one.kind = "text/plain; charset=utf-8"
	}
	var buf bytes.Buffer
	z, err := gzip.NewWriterLevel(&buf, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(data); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	if buf.Len() < len(data) {
		one.zipped = buf.Bytes()
	}
	return one, nil
}

// url is the address of a file.
func (a *assets) url(name string) string { return "/static/" + a.version + "/" + name }

// icon is the address of a sign.
func (a *assets) icon(name string) string { return a.url("icons.svg") + "#" + name }

func (s *Server) staticFile(w http.ResponseWriter, r *http.Request) error {
	keep := "no-cache"
	if r.PathValue("version") == s.static.version {
		keep = "public, max-age=31536000, immutable"
	}
	return s.serveAsset(w, r, r.PathValue("name"), keep)
}

// rootFile serves a static file that must lie at the root.
func (s *Server) rootFile(name string) action {
	return func(w http.ResponseWriter, r *http.Request) error { return s.serveAsset(w, r, name, "no-cache") }
}

func (s *Server) serveAsset(w http.ResponseWriter, r *http.Request, name, keep string) error {
	one, ok := s.static.by[name]
	if !ok {
		return notFound(r.URL.Path)
	}
	h := w.Header()
	tag := `"` + s.static.version + `"`
	h.Set("Content-Type", one.kind)
	h.Set("ETag", tag)
	h.Set("Vary", "Accept-Encoding")
	h.Set("Cache-Control", keep)
	if r.Header.Get("If-None-Match") == tag {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	body := one.plain
	if one.zipped != nil && strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		h.Set("Content-Encoding", "gzip")
		body = one.zipped
	}
	_, err := w.Write(body)
	return wrote(err)
}

func escape(s string) string { return url.QueryEscape(s) }
