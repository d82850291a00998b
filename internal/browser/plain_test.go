package browser_test

import "testing"

// TestEverythingWorksWithoutAScript does the desk's work and the surgeon's in a browser
// that runs no script.
func TestEverythingWorksWithoutAScript(t *testing.T) {
	t.Parallel()
	h := openHouse(t, "fenwick")
	p := newPage(t, h.home)
	p.scripts(false)
	p.goTo("/sign-in")
	p.signIn(surgeon)
	p.await("Mon 18 January 2027")

	p.follow("Find")
	p.fill("Name or case number", "fenwik")
	p.followIn(p.at("form.find"), "Find")
	p.follow("Nora Fenwick HR-2041")
	p.goTo(woundCheck)
	p.followIn(p.at("ol.offers li"), p.firstOffer())
	p.await("Booked: Wound check")

	p.follow("New record")
	p.typeRecord()
	p.fill("Case number", "HR-2099")
	p.fill("And what other facts would change", "yes")
	p.followIn(p.at(".typing .acts"), "Show what follows")
	p.await("Implant 16: full support after 6.00 months", "What is changed")
	p.follow("Keep this record")
	p.await("The record of HR-2099, Nora Fenwick, is kept.")
	p.follow("Approve revision 1")
	p.await("approved by " + surgeon)
}
