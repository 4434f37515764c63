//go:build !js

package client

import (
	"bytes"
	"context"
	"io"
	"net/http"
)

// send sends one request and reads what is answered, a byte more than largest
// at most. The error says why there is no answer.
func send(ctx context.Context, method, address string, body []byte) (answer, error) {
	req, err := http.NewRequestWithContext(ctx, method, address, bytes.NewReader(body))
	if err != nil {
		return answer{}, err
	}
	if body != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return answer{}, err
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(io.LimitReader(resp.Body, largest+1))
	return answer{resp.StatusCode, text, resp.Header.Get("Retry-After")}, err
}
