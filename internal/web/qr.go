package web

import (
	"fmt"
	"html"
	"strings"

	qr "github.com/piglig/go-qr"
)

// qrSVG draws a QR code (ISO/IEC 18004) with its quiet zone of four modules, dark on light in every light of the page.
func qrSVG(content, title string) (string, error) {
	code, err := qr.EncodeText(content, qr.Medium)
	if err != nil {
		return "", fmt.Errorf("web: a QR code: %w", err)
	}
	const quiet = 4
	n := code.Size()
	var path strings.Builder
	for y := range n {
		for x := 0; x < n; x++ {
			start := x
			for x < n && code.Module(x, y) {
				x++
			}
			if x > start {
				fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", start+quiet, y+quiet, x-start, x-start)
			}
		}
	}
	return fmt.Sprintf(`<svg class="qr-code" role="img" aria-label="%s" viewBox="0 0 %d %d" shape-rendering="crispEdges"><path fill="#fff" d="M0 0h%dv%dH0z"/><path fill="#000" d="%s"/></svg>`,
		html.EscapeString(title), n+2*quiet, n+2*quiet, n+2*quiet, n+2*quiet, path.String()), nil
}
