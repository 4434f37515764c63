// Package meter holds the meters: a slow needle, a fast lamp, sample and true
// peak, loudness and a programme meter. Each is a streaming type: any block size
// gives the same answer, and nothing is allocated after construction.
package meter
