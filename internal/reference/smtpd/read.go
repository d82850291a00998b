package smtpd

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/reference"
)

// Mail is a mail as some reader of mail understood it.
type Mail struct {
	ID, Date, Subject, Auto string // Date as 2027-01-18T08:30:00+00:00
	From, To                Party
	Names                   []string // of the header fields, lower case, sorted
	Parts                   []Part   // each before those inside it
	Defects                 []string // what the reader did not like
}

// Party is somebody with an e-mail address.
type Party struct{ Name, Address string }

// Part is one part of a mail; one that holds others has no body.
type Part struct {
	Type, Charset, Method, Component, File string
	Body                                   []byte
}

// Read reads mails with Python's email package.
func Read(t testing.TB, mails ...[]byte) []Mail {
	t.Helper()
	folder := t.TempDir()
	arguments := []string{filepath.Join(reference.Folder(), "read_mail.py")}
	for i, data := range mails {
		path := filepath.Join(folder, fmt.Sprint(i)+".eml")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		arguments = append(arguments, path)
	}
	command := exec.Command(reference.Python(t, "email"), arguments...)
	command.Stderr = t.Output()
	out, err := command.Output()
	if err != nil {
		t.Fatal(err)
	}
	var all []Mail
	for decoder := json.NewDecoder(bytes.NewReader(out)); decoder.More(); {
		var read Mail
		if err := decoder.Decode(&read); err != nil {
			t.Fatal(err)
		}
		for i, name := range read.Names {
			read.Names[i] = strings.ToLower(name)
		}
		slices.Sort(read.Names)
		all = append(all, read)
	}
	if len(all) != len(mails) {
		t.Fatalf("read %d mails of %d", len(all), len(mails))
	}
	return all
}
