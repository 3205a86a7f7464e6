package web

import (
	"context"
	"net/http"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Refuse answers what the gate did not let through.
func (s *Server) Refuse(w http.ResponseWriter, r *http.Request, code int, f *record.Fault) {
	if wantsScript(r) || strings.HasPrefix(r.URL.Path, "/api/") {
		s.answerProblem(w, r, f, code)
		return
	}
	frame, err := s.frame(r)
	if err == nil {
		frame.Title, frame.Data = frame.T("error.title"), f
		err = s.render(w, code, "error", "frame.html", frame)
	}
	if err != nil {
		s.logger(r).Error("error page failed", "err", err)
		http.Error(w, f.Error(), code)
	}
}

// Background says of a request that a page makes it by itself, without anybody touching the screen.
func Background(r *http.Request) bool {
	return r.URL.Path == "/board/events" || r.URL.Path == "/board/lanes" || strings.HasSuffix(r.URL.Path, "/look")
}

type endKey struct{}

// WithEnd tells the streams of events that the server is about to end.
func WithEnd(ctx context.Context, end <-chan struct{}) context.Context {
	return context.WithValue(ctx, endKey{}, end)
}

func endOf(ctx context.Context) <-chan struct{} {
	end, _ := ctx.Value(endKey{}).(<-chan struct{})
	return end
}
