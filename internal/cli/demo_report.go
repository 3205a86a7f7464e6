package cli

import (
	"path/filepath"

	"github.com/evenstroke/evenstroke/internal/draw"
)

// writeReport draws the pictures of the demo job and writes its report; it returns file names with what they are.
func (a *app) writeReport(j *demoJob) ([][2]string, error) {
	pics := []struct{ name, what, svg string }{
		{"leakmap-found.svg", "leak map as found", draw.LeakMap(j.p, j.again, a.sys)},
		{"leakmap-left.svg", "leak map as left", draw.LeakMap(j.p, j.left, a.sys)},
	}
	files := [][2]string{{"report.html", "the report, with its pictures inside"}}
	for _, p := range pics {
		if err := writeFile(filepath.Join(j.dir, p.name), []byte(p.svg)); err != nil {
			return nil, err
		}
		files = append(files, [2]string{p.name, p.what})
	}
	return files, nil
}
