package web

import (
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"path"
	"regexp"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/internal/text"
)

//go:embed pages/*.html
var pageFiles embed.FS

// pageKey names a page in a language.
type pageKey struct{ lang, page string }

// loadPages parses each page, in each language, with the frame and the common pieces.
func (s *Server) loadPages() (map[pageKey]*template.Template, error) {
	names, err := fs.Glob(pageFiles, "pages/*.html")
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	out := map[pageKey]*template.Template{}
	for _, lang := range s.texts.Languages() {
		voice := s.texts.In(lang)
		common := template.New("frame.html").Funcs(funcs).Option("missingkey=error")
		for _, name := range []string{"pages/frame.html", "pages/pieces.html"} {
			if err := s.parse(common, name, voice); err != nil {
				return nil, err
			}
		}
		for _, name := range names {
			base := strings.TrimSuffix(path.Base(name), ".html")
			if base == "frame" || base == "pieces" {
				continue
			}
			t, err := common.Clone()
			if err != nil {
				return nil, fmt.Errorf("web: %w", err)
			}
			if err := s.parse(t, name, voice); err != nil {
				return nil, err
			}
			out[pageKey{lang, base}] = t
		}
	}
	return out, nil
}

func (s *Server) parse(set *template.Template, name string, voice *text.Voice) error {
	source, err := fs.ReadFile(pageFiles, name)
	if err != nil {
		return fmt.Errorf("web: %w", err)
	}
	filled, err := s.fill(string(source), voice)
	if err != nil {
		return fmt.Errorf("web: %s in %s: %w", name, voice.Lang, err)
	}
	t := set
	if base := path.Base(name); base != set.Name() {
		t = set.New(base)
	}
	if _, err := t.Parse(filled); err != nil {
		return fmt.Errorf("web: %w", err)
	}
	return nil
}

// What stands in a page and is the same for everybody who speaks a language: a text without arguments, a sign, the address of a file.
// Alone it is written into the page, in brackets it becomes a word of the pipeline that it stands in.
var (
	constant = `\$?\w*(?:\.F)?\.(T|Icon|Static) "([^"]+)"`
	iconOf   = regexp.MustCompile(`\{\{template "icon" \(` + constant + `\)\}\}`)
	alone    = regexp.MustCompile(`\{\{` + constant + `\}\}`)
	inside   = regexp.MustCompile(`\(` + constant + `\)`)
)

// icon is the template of this name in pieces.html.
const icon = `<svg class="icon" aria-hidden="true"><use href="%s"></use></svg>`

// fill puts what is the same for everybody into the source of a page. A page calls for some hundred texts and signs, and to look up and
// write them at each request took half of the time of writing it.
func (s *Server) fill(source string, voice *text.Voice) (string, error) {
	var wrong []error
	say := func(what, name string) string {
		switch what {
		case "Icon":
			return s.static.icon(name)
		case "Static":
			return s.static.url(name)
		}
		words := voice.Say(name)
		if !voice.Has(name) || strings.Contains(words, "{{") {
			wrong = append(wrong, fmt.Errorf("text %s: found %q; expected words", name, words))
		}
		return words
	}
	put := func(re *regexp.Regexp, as func(words string) string) {
		source = re.ReplaceAllStringFunc(source, func(found string) string {
			m := re.FindStringSubmatch(found)
			return as(say(m[1], m[2]))
		})
	}
	put(iconOf, func(words string) string { return fmt.Sprintf(icon, template.HTMLEscapeString(words)) })
	put(alone, template.HTMLEscapeString)
	put(inside, strconv.Quote)
	return source, errors.Join(wrong...)
}
