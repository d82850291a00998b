package desk_test

import (
	"testing"

	"graftclock/internal/reference/axe"
)

// TestAxeFindsNothingOnTheSurgeonsPage looks at three pages at their widest and at 320
// pixels (WCAG 2.2, 1.4.10), and as printed, with the contrast of level AAA (1.4.6). At
// 320 pixels only drawings and nothing of the text may need to be moved sideways.
func TestAxeFindsNothingOnTheSurgeonsPage(t *testing.T) {
	t.Parallel()
	looked := map[string]string{}
	for _, name := range []string{"petrov", "doyle", "approved"} {
		looked[name] = pages(t)[name].page
	}
	axe.FindsNothing(t, looked)
}
