//go:build !js

package client

import (
	"bytes"
	"context"
	"io"
	"net/http"
)

// exchange sends one request and reads what is answered, a byte more than most
// at the most. The error says why there is no answer.
func exchange(ctx context.Context, method, address, token string, body []byte, most int64) (answer, error) {
	req, err := http.NewRequestWithContext(ctx, method, address, bytes.NewReader(body))
	if err != nil {
		return answer{}, err
	}
	if body != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	if token != "" {
		req.Header.Set(TokenHeader, token)
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return answer{}, err
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(io.LimitReader(resp.Body, most+1))
	return answer{resp.StatusCode, text, retryAfter(resp.Header.Get("Retry-After"))}, err
}
