package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"selvage/cmd/selvage/desk"
)

func deskCommand() command {
	return command{
		name: "desk", summary: "do the whole job on a page in the browser, on this computer only",
		arguments: "[flags]",
		about: `Opens a page in the browser on which a job is done by dragging files: the
client's boundary, then the photos. The page is served by this program to this
computer alone; no network is needed and nothing leaves the computer. Each job
is a folder of plain files, on which the other commands work too. The desk runs
until it is closed on the page, or with Ctrl-C. A second desk over the same
folder shows the page of the first. Without any command, selvage opens the desk,
unless nobody watches, as in a script.`,
		example: "selvage desk\nselvage desk --folder D:\\Jobs",
		define: func(flags *pflag.FlagSet) action {
			f := &deskFlags{}
			flags.StringVar(&f.folder, "folder", "", "`folder` that holds the jobs; without it, Selvage in the documents")
			flags.IntVar(&f.port, "port", 0, "`number` of the port; 0 is one that is free")
			flags.BoolVar(&f.shared, "shared", false, "open the folder although another desk has it open; of two changes the last one counts")
			flags.BoolVar(&f.quiet, "no-browser", false, "print the page's address and open nothing")
			return f.run
		},
	}
}

type deskFlags struct {
	folder string
	port   int
	quiet  bool
	shared bool
}

func (f *deskFlags) run(t terminal, args []string) (int, error) {
	if len(args) > 0 {
		return 0, misuse("desk", "desk takes no files; drop them on its page")
	}
	folder, err := jobsFolder(f.folder)
	if err != nil {
		return 0, err
	}
	removeAbandoned(folder) // the commands see to those of the jobs
	listener, err := f.listen()
	if err != nil {
		return 0, err
	}
	defer listener.Close()
	host := listener.Addr().String()
	ctx, release := interruptible()
	defer release()
	ctx, quit := context.WithCancel(ctx)
	defer quit()
	d := desk.New(folder, &engine{host: host}, quit)
	var taken desk.Taken
	if err := d.Hold(); errors.As(err, &taken) && !f.shared {
		return f.another(t, taken)
	}
	defer d.Release()
	server := &http.Server{Handler: d.Handler(host), ReadHeaderTimeout: 10 * time.Second}
	served := make(chan error, 1)
	go func() { served <- server.Serve(listener) }()

	fmt.Fprintf(t.out, "The desk is open. Its jobs are in %s.\n", oneLine(folder))
	f.show(t, "http://"+host+d.Opening())
	fmt.Fprintln(t.out, howToClose)
	select {
	case err := <-served:
		return 0, fmt.Errorf("the desk had to close: %w", err)
	case <-ctx.Done():
	}
	// What is being written is written to its end.
	last, giveUp := context.WithTimeout(context.Background(), 30*time.Second)
	defer giveUp()
	return allWell, server.Shutdown(last)
}

// another shows the page of the desk that holds the folder.
func (f *deskFlags) another(t terminal, taken desk.Taken) (int, error) {
	address := announced(taken.Folder, taken.Desk)
	if address == "" {
		return 0, fmt.Errorf("%w; close it there first, take another folder with --folder, or open this one all the same with --shared", taken)
	}
	fmt.Fprintf(t.out, "The desk is open already, with the jobs in %s; its page is shown again.\n", oneLine(taken.Folder))
	f.show(t, address)
	return allWell, nil
}

func (f *deskFlags) show(t terminal, address string) {
	if f.quiet || openInBrowser(address) != nil {
		fmt.Fprintf(t.out, "Open this address in a browser on this computer; it works once:\n  %s\n", address)
	}
}

const howToClose = "Close the desk on its page, or with Ctrl-C in this window. What was done is kept."

func (f *deskFlags) listen() (net.Listener, error) {
	if f.port < 0 || f.port > 65535 {
		return nil, fmt.Errorf("--port %d is no port; they go from 1 to 65535", f.port)
	}
	// The loopback address by number: no name that could point elsewhere.
	listener, err := net.Listen("tcp", fmt.Sprintf("127.0.0.1:%d", f.port))
	var cause *os.SyscallError
	switch {
	case err == nil:
		return listener, nil
	case f.port != 0 && errors.As(err, &cause):
		return nil, fmt.Errorf("port %d cannot be used (%w); another desk may be open there; leave out --port, and a free one is taken", f.port, cause.Err)
	}
	return nil, fmt.Errorf("the desk cannot be opened: %w", err)
}

// withoutCommand opens the desk for somebody who starts the program with a
// double-click, on whom a window that closes at once would waste its last words.
func withoutCommand(t terminal) (int, error) {
	status, err := deskCommand().run(t, nil)
	if err != nil && runtime.GOOS == "windows" {
		fmt.Fprintf(t.err, "selvage: %s\nPress Enter to close this window.\n", oneLine(say(err)))
		_, _ = bufio.NewReader(os.Stdin).ReadString('\n')
		return couldNotRun, nil
	}
	return status, err
}

// jobsFolder makes the folder where it is not there. It is the one that is
// named, that which was chosen on the page last, or one in the documents.
func jobsFolder(named string) (string, error) {
	folder := named
	if path, err := rememberedFolder(); folder == "" && err == nil {
		if data, err := readAtMost(path, 1<<12); err == nil {
			folder = strings.TrimSpace(string(data))
		}
	}
	if folder == "" {
		home, err := os.UserHomeDir()
		if err != nil {
			return "", errors.New("it is not known where your documents are; say where jobs are to be kept with --folder")
		}
		folder = filepath.Join(home, "Selvage")
		if documents := filepath.Join(home, "Documents"); exists(documents) {
			folder = filepath.Join(documents, "Selvage")
		}
	}
	folder, err := filepath.Abs(folder)
	if err != nil {
		return "", err
	}
	return folder, os.MkdirAll(folder, 0o777)
}

func openInBrowser(address string) error {
	switch runtime.GOOS {
	case "windows":
		return exec.Command("rundll32", "url.dll,FileProtocolHandler", address).Start()
	case "darwin":
		return exec.Command("open", address).Start()
	}
	return exec.Command("xdg-open", address).Start()
}
