package main

import (
	"bufio"
	"fmt"
	"net"
	"os"
	"os/exec"
	"runtime"
	"strconv"
	"strings"
)

// haveDisplay reports whether a window can open here. On Linux and the BSDs that
// takes an X server that answers (a Wayland session brings one along);
// elsewhere a display is taken for granted.
func haveDisplay() bool {
	switch runtime.GOOS {
	case "windows", "darwin":
		return true
	}
	network, address, ok := xAddress(os.Getenv("DISPLAY"))
	if !ok {
		return false
	}
	conn, err := net.Dial(network, address)
	if err != nil {
		return false
	}
	conn.Close()
	return true
}

// xAddress returns where the X server of a display name listens: ":1" and
// "unix:1.0" on a local socket, "host:1" at TCP port 6001 (X11 protocol,
// connection conventions; from memory).
func xAddress(display string) (network, address string, ok bool) {
	colon := strings.LastIndexByte(display, ':')
	if colon < 0 {
		return "", "", false
	}
	host, number := display[:colon], display[colon+1:]
	number, _, _ = strings.Cut(number, ".")
	n, err := strconv.Atoi(number)
	if err != nil || n < 0 {
		return "", "", false
	}
	if host == "" || host == "unix" {
		return "unix", "/tmp/.X11-unix/X" + number, true
	}
	return "tcp", net.JoinHostPort(host, strconv.Itoa(6000+n)), true
}

// virtualDisplay starts an X server without a screen and returns its display
// name. The server picks a free number itself.
func virtualDisplay() (name string, stop func(), err error) {
	r, w, err := os.Pipe()
	if err != nil {
		return "", nil, err
	}
	defer r.Close()
	c := exec.Command("Xvfb", "-displayfd", "3", "-noreset", "-screen", "0", "1920x1080x24", "-nolisten", "tcp")
	c.ExtraFiles = []*os.File{w}
	err = c.Start()
	w.Close()
	if err != nil {
		return "", nil, fmt.Errorf("starting Xvfb: %w", err)
	}
	stop = func() {
		c.Process.Signal(os.Interrupt)
		c.Wait()
	}
	line, err := bufio.NewReader(r).ReadString('\n')
	if err != nil {
		stop()
		return "", nil, fmt.Errorf("the virtual display ended before it was ready: %w", err)
	}
	return ":" + strings.TrimSpace(line), stop, nil
}
