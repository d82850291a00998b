package cli

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"

	"graftclock/internal/graft"
)

// asker asks whoever sits at the terminal.
type asker struct {
	in    io.Reader
	out   io.Writer // for what is asked
	piped bool      // a password comes in the first line of in, which need be no terminal

	lines *bufio.Reader
}

// atTerminal reports whether somebody can be asked.
func (a *asker) atTerminal() bool {
	file, ok := a.in.(*os.File)
	return ok && takesKeys(file)
}

// line asks for one line.
func (a *asker) line(question string) (string, error) {
	if a.lines == nil {
		a.lines = bufio.NewReader(a.in)
	}
	fmt.Fprint(a.out, question)
	text, err := a.lines.ReadString('\n')
	if errors.Is(err, io.EOF) && text != "" {
		err = nil
	}
	if err != nil {
		return "", fmt.Errorf("read an answer: %w", err)
	}
	return strings.TrimSuffix(strings.TrimSuffix(text, "\n"), "\r"), nil
}

// password asks for a new password twice, without showing it.
func (a *asker) password(name string) (string, error) {
	if a.piped {
		return a.line("")
	}
	if !a.atTerminal() {
		return "", &graft.Refusal{Kind: graft.Invalid, Message: "there is no terminal to ask for a password at", Hint: "with --password-stdin it is read from standard input"}
	}
	first, err := a.unseen("Password of " + name + ": ")
	if err != nil {
		return "", err
	}
	again, err := a.unseen("Once more: ")
	if err == nil && again != first {
		err = &graft.Refusal{Kind: graft.Invalid, Message: "the two passwords differ", Hint: "nothing was changed; try again"}
	}
	return first, err
}

// unseen asks for a line that the terminal does not show. Whoever breaks off gets a
// terminal that shows again what they type.
func (a *asker) unseen(question string) (string, error) {
	file := a.in.(*os.File)
	show, err := hide(file)
	if err != nil {
		return "", fmt.Errorf("hide what is typed: %w", err)
	}
	broken := make(chan os.Signal, 1)
	done := make(chan struct{})
	signal.Notify(broken, os.Interrupt)
	go func() {
		select {
		case <-broken:
			show()
			fmt.Fprintln(a.out)
			os.Exit(exitFault)
		case <-done:
		}
	}()
	text, err := a.line(question)
	signal.Stop(broken)
	close(done)
	show()
	fmt.Fprintln(a.out) // the line's end was not shown either
	return text, err
}
