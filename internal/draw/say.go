package draw

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Option changes how a picture is made.
type Option func(*canvas)

// In makes a picture speak another language: say is given each text of the picture in English, whole and with its figures in, and
// returns it in that language, or as it is when it has no translation. Names of the pump sheet that stand alone are not given to it.
// With nil, or without this option, a picture is English.
func In(say func(english string) string) Option { return func(c *canvas) { c.say = say } }

// with is an empty canvas with its options.
func with(opts []Option) canvas {
	var c canvas
	for _, o := range opts {
		o(&c)
	}
	return c
}

// said is a text in the language of the picture, or one that is the same in all: a name, a figure. Only such is written, so that the
// compiler finds a text that was not said.
type said string

// t says a text in the language of the picture.
func (c *canvas) t(english string) said {
	if c.say == nil || english == "" {
		return said(english)
	}
	return said(c.say(english))
}

// sentences says each sentence and joins them; empty ones are left out.
func (c *canvas) sentences(english ...string) said {
	var out []said
	for _, s := range english {
		if s != "" {
			out = append(out, c.t(s))
		}
	}
	return join(out, " ")
}

func join(parts []said, sep string) said {
	out := make([]string, len(parts))
	for i, s := range parts {
		out[i] = string(s)
	}
	return said(strings.Join(out, sep))
}

// capital makes a sentence of a note: a capital letter and a full stop.
func capital(s said) said {
	r, n := utf8.DecodeRuneInString(string(s))
	if n == 0 {
		return ""
	}
	return said(unicode.ToUpper(r)) + s[n:] + "."
}
