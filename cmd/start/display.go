package main

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"strings"
)

// virtualDisplay starts an X server without a screen, on Linux, and makes its display
// that of the programs that are run until stop. The server picks a free number itself.
func virtualDisplay() (stop func(), err error) {
	if runtime.GOOS != "linux" {
		return func() {}, nil
	}
	r, w, err := os.Pipe()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	c := exec.Command("Xvfb", "-displayfd", "3", "-noreset", "-screen", "0", "1920x1080x24", "-nolisten", "tcp")
	c.ExtraFiles = []*os.File{w}
	err = c.Start()
	w.Close()
	if err != nil {
		return nil, fmt.Errorf("starting Xvfb: %w", err)
	}
	stop = func() {
		c.Process.Signal(os.Interrupt)
		c.Wait()
	}
	line, err := bufio.NewReader(r).ReadString('\n')
	if err != nil {
		stop()
		return nil, fmt.Errorf("the virtual display ended before it was ready: %w", err)
	}
	return stop, os.Setenv("DISPLAY", ":"+strings.TrimSpace(line))
}
