package browser_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestAScriptInsideAPageDoesNotRun puts one there by force, as somebody would who had
// found a way to.
func TestAScriptInsideAPageDoesNotRun(t *testing.T) {
	t.Parallel()
	h := openHouse(t, "fenwick")
	p := h.signedIn(clerk)
	p.goTo(caseLink)
	run(p, chromedp.Evaluate[chromedp.Void](`(() => {
		const script = document.createElement("script");
		script.textContent = "document.title = 'it ran'";
		document.body.append(script);
		document.body.insertAdjacentHTML("beforeend", "<img src='/none' alt='' onerror=\"document.title = 'it ran'\"><a id='lure' href=\"javascript:document.title = 'it ran'\">lure</a>");
		document.getElementById("lure").click();
	})()`))
	p.until(func() bool {
		return strings.Count(strings.Join(p.seen.complaints(), "\n"), "Content Security Policy") >= 3
	}, func() string {
		return "the policy was not heard of three times but: " + strings.Join(p.seen.complaints(), "\n")
	})
	if title := run(p, chromedp.Title()); title == "it ran" {
		t.Error("the script ran")
	}
	p.seen.forgive()
}

// TestWhatARecordSaysIsShownAsText takes in a record whose words are markup.
func TestWhatARecordSaysIsShownAsText(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	text, err := os.ReadFile(demoFile("fenwick.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	const markup = `<script>document.title='ran'</script><b>Nora</b>`
	path := filepath.Join(t.TempDir(), "hostile.yaml")
	hostile := strings.Replace(string(text), "name: Nora Fenwick", `name: "`+markup+`"`, 1)
	if err := os.WriteFile(path, []byte(hostile), 0o600); err != nil {
		t.Fatal(err)
	}
	h.command(surgeon, "admit", path)
	p := h.signedIn(surgeon)
	for _, at := range []string{caseLink, caseLink + "/history", caseLink + "/record", woundCheck, caseLink + "/finding"} {
		p.goTo(at)
		if n := run(p, chromedp.Evaluate[int](`document.querySelectorAll("main script, main b").length`)); n > 0 {
			t.Errorf("%s: %d elements came out of the record", at, n)
		}
	}
	p.goTo(caseLink)
	p.await(markup)
}
