package cli

import (
	"fmt"
	"io"

	"graftclock/internal/desk"
)

// printTell says how a change reaches the patient: by mail or by a feed, where the
// patient has them, and otherwise by somebody who tells them. Changed is that a time
// which the patient may know is no longer so.
func printTell(w io.Writer, k *desk.Keeper, a desk.Actor, live desk.Live, changed bool) error {
	id := live.Kept.Case
	byItself := false
	if live.Case.Patient.Mail.Address != "" && k.Clinic.Mail.From != "" {
		untold, err := k.Untold(a, id)
		if err != nil {
			return err
		}
		if len(untold) > 0 {
			byItself = true
			fmt.Fprintf(w, "Not told by mail yet, %s: graftclock invite %s\n", counted(len(untold), "visit"), id)
		}
	}
	feeds, err := k.Feeds(id)
	if err != nil {
		return err
	}
	if len(feeds) > 0 {
		byItself = true
		if feeds[0].Served() {
			fmt.Fprintln(w, "The patient's feed shows it when the phone looks next.")
		} else {
			fmt.Fprintf(w, "The patient's feed shows it after graftclock calendar %s\n", id)
		}
	}
	if changed && !byItself {
		fmt.Fprintln(w, "Tell the patient: a calendar file on a phone does not move by itself.")
	}
	return nil
}
