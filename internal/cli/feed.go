package cli

import (
	"bytes"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// feedMode lets a web server read a feed; its name is what keeps it from others.
const feedMode = 0o644

func newCalendar(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	var folder string
	var revoke bool
	c := &cobra.Command{
		Use:   "calendar [CASE]",
		Short: "Keep a calendar that the patient's phone fetches again and again",
		Long: `Calendar writes the patient's visits as one file under a name that nobody can guess,
into a folder that the clinic's web server hands out. The patient subscribes to its
address once; from then on the phone shows what the file says when it looks next,
which may be once a day. A visit that is called off stays in it as cancelled for 14
days.

Without a case it brings every feed up to date: let a timer run that. With --revoke
it ends the feed and removes the file; what a phone has fetched stays on the phone
until its owner unsubscribes.

The web server must serve https, must not list the folder, and must not write the
names into logs that others read: who has the address reads the dates. In such a
feed there is no word of the operation unless the patient chose plain words.

A calendar file that is imported once (graftclock plan CASE --out DIR) adds its dates
and changes none later: a second file is refused or doubles them.

Exit codes: 0 done, 1 fault or refusal, 2 usage, 3 a feed could not be brought up to
date yet.`,
		Example: "  graftclock calendar HR-2041 --feed /srv/www/visits --as \"Ida Marlow\"\n  graftclock calendar\n  graftclock calendar HR-2041 --revoke --as \"Ida Marlow\"",
		Args:    cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			w := c.OutOrStdout()
			switch {
			case len(args) == 0 && (folder != "" || revoke):
				return usagef("--feed and --revoke want the number of a case")
			case folder != "" && revoke:
				return usagef("--feed starts a feed and --revoke ends it")
			case len(args) == 0:
				return f.with(func(k *desk.Keeper) error { return fillFeeds(w, k, f, "") })
			case revoke:
				return f.acted(false, func(k *desk.Keeper, a desk.Actor) error { return revokeFeed(w, k, a, graft.CaseID(args[0])) })
			case folder == "":
				return f.with(func(k *desk.Keeper) error { return fillFeeds(w, k, f, graft.CaseID(args[0])) })
			}
			return f.acted(false, func(k *desk.Keeper, a desk.Actor) error {
				return openFeed(w, k, a, f, graft.CaseID(args[0]), folder)
			})
		},
	}
	f.acting(c)
	c.Flags().StringVar(&folder, "feed", "", "start the feed of a case in this folder, which a web server hands out")
	c.Flags().BoolVar(&revoke, "revoke", false, "end the feed of a case and remove its file")
	return c
}

// openFeed starts a feed and fills it.
func openFeed(w io.Writer, k *desk.Keeper, a desk.Actor, f keeperFlags, id graft.CaseID, folder string) error {
	folder, err := filepath.Abs(folder)
	if err != nil {
		return fmt.Errorf("the folder of the feed: %w", err)
	}
	if info, err := os.Stat(folder); err != nil {
		return fmt.Errorf("the folder of the feed: %w", err)
	} else if !info.IsDir() {
		return &graft.Refusal{Kind: graft.Invalid, Message: folder + " is no folder"}
	}
	if _, err := k.OpenFeed(a, id, folder, strings.ToLower(rand.Text())); err != nil {
		return err
	}
	return fillFeeds(w, k, f, id)
}

// fillFeeds brings feeds up to date: that of one case or, without one, all. A feed
// that cannot be written never stops the rest.
func fillFeeds(w io.Writer, k *desk.Keeper, f keeperFlags, id graft.CaseID) error {
	feeds, err := k.Feeds(id)
	if err != nil {
		return err
	}
	if len(feeds) == 0 && id != "" {
		return &graft.Refusal{Kind: graft.NotFound, Message: fmt.Sprintf("case %s has no feed", id), Hint: "graftclock calendar " + string(id) + " --feed DIR starts one"}
	}
	var failed error
	held := false
	for _, feed := range feeds {
		if feed.Served() {
			fmt.Fprintf(w, "%s: graftclock serve hands this feed out by itself, so no file is written\n", feed.Case)
			continue
		}
		file, err := k.FillFeed(feed, f.day(), f.now())
		if err == nil && file.Data != nil {
			err = replaceFeed(feedPath(feed), file.Data)
		}
		switch {
		case err != nil:
			failed = errors.Join(failed, fmt.Errorf("feed of %s: %w", feed.Case, err))
		case file.Held != "":
			held = true
			printHeldFeed(w, file)
		default:
			fmt.Fprintf(w, "%s, %s: %s\n", feed.Case, file.Patient, feedPath(feed))
		}
	}
	if len(feeds) == 0 {
		fmt.Fprintln(w, "No case has a feed.")
	} else if id != "" && failed == nil && !held && !feeds[0].Served() {
		fmt.Fprintln(w, "Give the patient its address on your web server; whoever has it reads the dates.")
	}
	if failed == nil && held {
		return errStopped
	}
	return failed
}

// printHeldFeed says why a feed was not brought up to date, and how it then stands.
func printHeldFeed(w io.Writer, file desk.FeedFile) {
	path := feedPath(file.Feed)
	if _, err := os.Stat(path); err == nil {
		fmt.Fprintf(w, "%s, %s: feed stays as it is: %s\n", file.Case, file.Patient, file.Held)
		return
	}
	fmt.Fprintf(w, "%s, %s: feed started, but without a file yet: %s\n", file.Case, file.Patient, file.Held)
	fmt.Fprintf(w, "As soon as it can, graftclock calendar %s writes %s\n", file.Case, path)
}

func feedPath(f ledger.Feed) string { return filepath.Join(f.Folder, f.Token+".ics") }

// replaceFeed puts a feed in its place whole: a web server hands out the old file or
// the new one, never half of one.
func replaceFeed(path string, data []byte) error {
	old, err := os.ReadFile(path)
	switch {
	case err == nil && bytes.Equal(old, data):
		return nil
	case err == nil && !bytes.Contains(old, []byte("graftclock")):
		return &graft.Refusal{Kind: graft.Conflict, Message: path + " was not written by graftclock, so it is left alone"}
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("look at what is there: %w", err)
	}
	return replaceWhole(path, data, feedMode)
}

// replaceWhole puts a file in its place by one rename.
func replaceWhole(path string, data []byte, mode fs.FileMode) error {
	return staged(path, data, func(next string) error {
		return errors.Join(os.Chmod(next, mode), os.Rename(next, path))
	})
}

// staged writes a file whole beside its place, and then has it put there.
func staged(path string, data []byte, put func(next string) error) error {
	sweep(filepath.Dir(path))
	folder, err := os.MkdirTemp(filepath.Dir(path), stagedName)
	if err != nil {
		return notWritten(path, err)
	}
	defer os.RemoveAll(folder)
	next := filepath.Join(folder, "next")
	if err := writeWhole(next, data, true); err != nil {
		return notWritten(path, err)
	}
	if err := put(next); err != nil {
		return notWritten(path, err)
	}
	return nil
}

// revokeFeed ends a feed, and then removes its file.
func revokeFeed(w io.Writer, k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
	feed, err := k.RevokeFeed(a, id)
	if err != nil {
		return err
	}
	if feed.Served() {
		_, err = fmt.Fprintf(w, "%s: feed revoked. What a phone has fetched stays on it until its owner unsubscribes.\n", id)
		return err
	}
	if err := os.Remove(feedPath(feed)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("the feed is revoked, but its file must be removed by hand: %w", err)
	}
	_, err = fmt.Fprintf(w, "%s: feed revoked, %s removed. What a phone has fetched stays on it until its owner unsubscribes.\n", id, feedPath(feed))
	return err
}
