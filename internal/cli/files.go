package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/internal/demo"
	"github.com/evenstroke/evenstroke/internal/outfile"
	"github.com/evenstroke/evenstroke/pump"
)

// mostRead is the largest file that is read, in bytes.
const mostRead = 64 << 20

// readFile reads a file that the person named.
func readFile(name string) ([]byte, error) {
	st, err := os.Stat(name)
	if err != nil {
		return nil, badInput("%s: no such file can be opened (%v)", name, errors.Unwrap(err))
	}
	if st.IsDir() {
		return nil, badInput("%s: found a folder; expected a file", name)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, badInput("%s: it cannot be read (%v)", name, errors.Unwrap(err))
	}
	data, err := io.ReadAll(io.LimitReader(f, mostRead+1)) // a device or a pipe has no size to ask for
	if err = errors.Join(err, f.Close()); err != nil {
		return nil, fmt.Errorf("%s: it could not be read: %w", name, err)
	}
	if len(data) > mostRead {
		return nil, badInput("%s: found more than %d MiB; expected a sheet or a trace", name, mostRead>>20)
	}
	return data, nil
}

// loadPump reads a pump sheet by file name, else a demo pump by its name. dir is tried before the working folder.
func loadPump(name, dir string) (*pump.Pump, error) {
	for _, path := range []string{filepath.Join(dir, name), name} {
		if _, err := os.Stat(path); err == nil && !filepath.IsAbs(name) || filepath.IsAbs(name) && path == name {
			data, err := readFile(path)
			if err != nil {
				return nil, err
			}
			return pump.Read(path, data)
		}
	}
	if data, ok := demo.File(name); ok { // no pump sheet: say what it is
		return pump.Read(name, data)
	}
	data, err := pump.DemoSheet(name)
	if err != nil {
		return nil, badInput("pump %q: found neither a file nor a demo pump of that name; expected a pump sheet or one of %s%s", name, strings.Join(pump.Demo(), ", "), meant(name, pump.Demo()))
	}
	return pump.Read(name+".yaml (demo)", data)
}

// loadText reads a file by its name, else the demo file of that name.
func loadText(name string) (data []byte, dir string, err error) {
	if _, statErr := os.Stat(name); statErr == nil {
		data, err = readFile(name)
		return data, filepath.Dir(name), err
	}
	if data, ok := demo.File(name); ok {
		return data, "", nil
	}
	if slices.Contains(pump.Demo(), name) {
		return nil, "", badInput("%s: found a pump; expected a hold sheet or another file with readings, such as orrin-as-found.yaml", name)
	}
	return nil, "", badInput("%s: found neither a file nor a demo file of that name; expected a file, or one of %s%s", name, strings.Join(demo.Names(), ", "), meant(name, demo.Names()))
}

// stdout is the name that stands for the standard output.
const stdout = "-"

// written is what a command writes beside its text, by flag.
type written struct{ flag, file string }

// takesStdout says whether one of the files is the standard output, which then carries nothing else.
func (a *app) takesStdout(files ...written) (bool, error) {
	taker := ""
	for _, f := range files {
		switch {
		case f.file != stdout:
		case taker != "":
			return false, badInput("%s -: found %s on the standard output already; expected one of the two; write the other into a file", f.flag, taker)
		case a.json:
			return false, badInput("%s -: found --json on the standard output already; expected one of the two; name a file", f.flag)
		default:
			taker = f.flag
		}
	}
	return taker != "", nil
}

// writeFile writes a result into a file, or to the standard output.
func (a *app) writeFile(name string, data []byte) error {
	if name == stdout {
		a.out.exact = true
		_, err := a.out.Write(data)
		return err
	}
	return outfile.Write(name, data)
}
