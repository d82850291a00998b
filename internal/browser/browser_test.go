// Package browser_test drives the pages of the desk in a real Chromium, as the desk and
// the surgeon do: it reads names and roles from the browser's accessibility tree, types
// and clicks. It is a module of its own, so that the program itself needs no library
// that drives a browser.
package browser_test

import (
	"context"
	"os"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"

	"graftclock/internal/reference"
)

// TestMain ends the browser that the tests share, by its own handle.
func TestMain(m *testing.M) {
	code := m.Run()
	chromium.end()
	os.Exit(code)
}

// chromium is the one browser of all tests, started by the first that needs it.
var chromium shared

type shared struct {
	once  sync.Once
	ctx   context.Context
	fault error
	ends  []func()
}

// start returns the browser; without one the test is skipped or fails by the name of
// the reference.
func (s *shared) start(t testing.TB) context.Context {
	t.Helper()
	if testing.Short() {
		t.Skip("starts a browser")
	}
	path := reference.Program(t, "chromium")
	s.once.Do(func() {
		options := append(chromedp.DefaultExecAllocatorOptions[:],
			chromedp.ExecPath(path),
			chromedp.DisableGPU,
			// No name but the test's own server leads anywhere.
			chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"),
		)
		allocator, free := chromedp.NewExecAllocator(context.Background(), options...)
		ctx, leave := chromedp.NewContext(allocator)
		s.ctx, s.ends = ctx, []func(){func() { chromedp.Cancel(ctx) }, leave, free}
		s.fault = chromedp.Do(ctx)
	})
	if s.fault != nil {
		t.Fatal("start chromium:", s.fault)
	}
	return s.ctx
}

func (s *shared) end() {
	for _, end := range s.ends {
		end()
	}
}
