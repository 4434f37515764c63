package main

import (
	"fmt"
	"net"
	"os"
	"path/filepath"
	"runtime"
)

// usualAddress is where the browser edition is served, to this machine alone.
const usualAddress = "127.0.0.1:8410"

// serve builds the browser edition and serves it to this machine alone; the
// server prints its address and ends with an interrupt.
func serve() error {
	fmt.Println("start: building the browser edition; the first build takes a minute or two")
	if err := buildWeb(webFolder, ""); err != nil {
		return err
	}
	markbook := filepath.Join("bin", "markbook")
	if runtime.GOOS == "windows" {
		markbook += ".exe"
	}
	if err := show("go", "build", "-o", markbook, "./cmd/markbook"); err != nil {
		return err
	}
	// Nobody hands in to a class without sheets: what the server keeps goes with it.
	data, err := os.MkdirTemp("", "slowneedle-class-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(data)
	fmt.Println("start: open the address of the learners below in a browser on this machine")
	return show(filepath.Join(".", markbook), "serve",
		"--listen", freeAddress(usualAddress), "--data", data, "--app", webFolder)
}

// freeAddress is the address if nobody listens there, otherwise one whose port
// the system picks.
func freeAddress(address string) string {
	l, err := net.Listen("tcp", address)
	if err != nil {
		return "127.0.0.1:0"
	}
	l.Close()
	return address
}
