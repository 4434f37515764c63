// Package browser holds the tests that play the trainer's browser edition in a
// headless browser, served by the class server's command. It imports nothing
// that opens a window itself.
package browser
