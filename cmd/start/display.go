package main

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"strings"
)

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
