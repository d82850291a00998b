package cli

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os/signal"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/sqlite"
	"graftclock/internal/web"
)

// defaultListen is this machine alone.
const defaultListen = "127.0.0.1:8441"

// serving are the flags of serve.
type serving struct {
	keeperFlags
	listen, cert, key string
	proxy, demo       bool
}

func newServe(now func() time.Time) *cobra.Command {
	s := &serving{keeperFlags: keeperFlags{now: now}}
	c := &cobra.Command{
		Use:   "serve",
		Short: "Open the desk in the browsers of the clinic",
		Long: `Serve shows the ledger as pages in a browser: the morning, each case, the record form,
search and the clinic's days. It listens on this machine alone unless told otherwise.

People sign in with a password of their own, which graftclock people add NAME sets.
On the first run serve asks for the first one.

Other computers of the clinic reach it only over https: with the clinic's own
certificate (--cert, --key), or behind a proxy that speaks https (--behind-proxy). To
listen to others without either is refused, for passwords and patients' names would
cross the network for everybody to read.

With --demo it shows an invented clinic with a year of invented cases, in a folder
that is thrown away at the end.

Ctrl+C, or a TERM signal, ends it when the requests under way are answered.`,
		Example: "  graftclock serve --demo\n  graftclock serve --clinic clinic.yaml\n  graftclock serve --listen 192.168.1.10:8441 --cert desk.crt --key desk.key",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if err := s.mayListen(); err != nil {
				return err
			}
			ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
			defer stop()
			if s.demo {
				return s.demonstrate(ctx, c.OutOrStdout(), c.ErrOrStderr())
			}
			return s.run(ctx, c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().StringVar(&s.clinic, "clinic", "", "clinic file, with the ledger beside it (default: $"+envClinic+", or "+clinicName+")")
	c.Flags().StringVar(&s.protocol, "protocol", "", "file with the clinic's own rule values (default: the one the clinic file names)")
	c.Flags().StringVar(&s.listen, "listen", defaultListen, "address and port; port 0 takes a free one")
	c.Flags().StringVar(&s.cert, "cert", "", "the clinic's certificate, for https")
	c.Flags().StringVar(&s.key, "key", "", "the certificate's key")
	c.Flags().BoolVar(&s.proxy, "behind-proxy", false, "a proxy before it speaks https and names the client in X-Forwarded-For")
	c.Flags().BoolVar(&s.demo, "demo", false, "show an invented clinic, thrown away at the end")
	return c
}

// local reports whether only this machine can reach the address.
func (s *serving) local() bool {
	host, _, err := net.SplitHostPort(s.listen)
	ip := net.ParseIP(host)
	return err == nil && (host == "localhost" || ip != nil && ip.IsLoopback())
}

// mayListen refuses an address that others reach unless what crosses the network
// is sealed.
func (s *serving) mayListen() error {
	if _, _, err := net.SplitHostPort(s.listen); err != nil {
		return usagef("--listen wants ADDRESS:PORT, such as %s: %v", defaultListen, err)
	}
	switch tls := s.cert != "" || s.key != ""; {
	case tls && (s.cert == "" || s.key == ""):
		return usagef("--cert and --key go together")
	case tls && s.proxy:
		return usagef("with --behind-proxy the proxy has the certificate; give --cert and --key, or --behind-proxy")
	case s.demo && !s.local():
		return usagef("the demonstration is for this machine alone; its password is known")
	case !s.local() && !tls && !s.proxy:
		return &graft.Refusal{
			Kind:    graft.Invalid,
			Message: fmt.Sprintf("%s can be reached by others, and without https they could read passwords and patients' names", s.listen),
			Hint:    "give the clinic's certificate with --cert and --key, or put a proxy with https before it and say --behind-proxy; " + defaultListen + " is this machine alone",
		}
	}
	return nil
}

// run serves the clinic until it is told to stop.
func (s *serving) run(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) (err error) {
	s.clinic = s.clinicPath()
	files := &houseFiles{sources: &s.sources}
	d, err := files.load()
	if err != nil {
		return err
	}
	store, err := sqlite.Open(ledgerPath(s.clinic))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	if err := firstPerson(desk.NewKeeper(d, desk.Keep(store)), s.now(), stdin, stdout); err != nil {
		return err
	}
	return s.open(ctx, files, store, nil, stdout, stderr)
}

// open answers browsers until the context ends, and then until what is under way is
// answered.
func (s *serving) open(ctx context.Context, files *houseFiles, store *sqlite.Store, demo []string, stdout, stderr io.Writer) error {
	log := slog.New(slog.NewTextHandler(stderr, nil))
	tls := s.cert != ""
	pages, err := web.New(web.Options{
		Load: files.load, Stamp: files.stamp, Files: clinicFilesAt(s.clinic, s.protocol), Store: desk.Keep(store), Sessions: store.Sessions(time.Now), Now: s.now, Log: log,
		Secure: tls || s.proxy, Proxy: s.proxy, Local: s.local() && !s.proxy, Demo: demo,
	})
	if err != nil {
		return err
	}
	listener, err := s.listener()
	if err != nil {
		return err
	}
	scheme := "http"
	if tls {
		scheme = "https"
	}
	fmt.Fprintf(stdout, "The desk is open at %s://%s/ (Ctrl+C ends it)\n", scheme, listener.Addr())
	return answer(ctx, server(pages, log), listener, pages)
}

// listener takes the address, with the clinic's certificate if there is one.
func (s *serving) listener() (net.Listener, error) {
	listener, err := net.Listen("tcp", s.listen)
	if err != nil {
		return nil, fmt.Errorf("listen: %w", err)
	}
	if s.cert == "" {
		return listener, nil
	}
	pair, err := tls.LoadX509KeyPair(s.cert, s.key)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("the clinic's certificate: %w", err), listener.Close())
	}
	return tls.NewListener(listener, &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}}), nil
}

// Bounds of one request. A browser that sends or reads more slowly is cut off, so
// that none can hold the desk up.
const (
	headerTime = 5 * time.Second
	readTime   = 30 * time.Second
	writeTime  = time.Minute
	idleTime   = 2 * time.Minute
	stopTime   = 30 * time.Second // for requests under way when it ends
	mostHeader = 32 << 10
)

func server(h http.Handler, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler: h, ErrorLog: slog.NewLogLogger(quiet{log.Handler()}, slog.LevelWarn),
		ReadHeaderTimeout: headerTime, ReadTimeout: readTime, WriteTimeout: writeTime, IdleTimeout: idleTime, MaxHeaderBytes: mostHeader,
	}
}

// answer serves until the context ends; then it takes no new request and finishes
// those it has.
func answer(ctx context.Context, server *http.Server, listener net.Listener, pages *web.Server) error {
	working, stopWork := context.WithCancel(ctx)
	defer stopWork()
	worked := make(chan struct{})
	go func() {
		defer close(worked)
		pages.Work(working)
	}()
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(listener) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	last, cancel := context.WithTimeout(context.Background(), stopTime)
	defer cancel()
	err := server.Shutdown(last)
	<-worked
	if errors.Is(err, context.DeadlineExceeded) {
		return errors.Join(errors.New("a request was cut off: it took too long"), server.Close())
	}
	return err
}

// quiet keeps the words of the http package, which name addresses of clients, out of
// the log and counts only that something was refused.
type quiet struct{ slog.Handler }

// Handle writes the kind of event alone.
func (q quiet) Handle(ctx context.Context, r slog.Record) error {
	return q.Handler.Handle(ctx, slog.NewRecord(r.Time, r.Level, "a connection was refused or broken off", 0))
}
