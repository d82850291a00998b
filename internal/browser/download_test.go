package browser_test

import (
	"context"
	"os"
	"path/filepath"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"
)

// download clicks what hands out a file, and returns it under the name that the browser
// would keep it by.
func (p *page) download(act func()) (name string, data []byte) {
	p.t.Helper()
	folder, yes := p.t.TempDir(), true
	ctx, stop := context.WithTimeout(p.ctx, patience)
	defer stop()
	begun, ended := chromedp.BrowserEvents(ctx, browser.DownloadWillBegin), chromedp.BrowserEvents(ctx, browser.DownloadProgress)
	_, err := chromedp.CallBrowser(ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{
		Behavior: browser.SetDownloadBehaviorBehaviorAllowAndName, BrowserContextID: chromedp.FromContext(p.ctx).BrowserContextID, DownloadPath: folder, EventsEnabled: &yes,
	})
	if err != nil {
		p.t.Fatal(err)
	}
	act()
	for e, err := range begun {
		if err != nil {
			p.t.Fatalf("no download begins: %v\nat %s", err, p.where())
		}
		name = e.SuggestedFilename
		break
	}
	for e, err := range ended {
		if err != nil {
			p.t.Fatalf("the download of %s does not end: %v", name, err)
		}
		if e.State == browser.DownloadProgressStateCompleted {
			data, err = os.ReadFile(filepath.Join(folder, e.GUID))
			if err != nil {
				p.t.Fatal(err)
			}
			return name, data
		}
		if e.State == browser.DownloadProgressStateCanceled {
			p.t.Fatalf("the download of %s was broken off", name)
		}
	}
	return name, data
}
