//go:build !js

package server

import (
	"net"
	"net/netip"
	"os"
	"slices"
	"strings"
)

// hasName reports whether a host, with a port or without, is one of this
// machine's: any address in figures, for no name can be turned to those;
// localhost; its own name, and any with an end that is resolved on the local
// network alone; and those it was given. Another site's page can have its own name
// point here (DNS rebinding): the browser then takes this server for that site and
// lets the page read what it answers. The name it asks for gives it away, in the
// request's Host (RFC 9110, section 7.2).
func (s *Server) hasName(host string) bool {
	name, _, figures := split(host)
	return figures || name == "localhost" || slices.Contains(s.names, name) ||
		slices.ContainsFunc(localEnds, func(end string) bool { return strings.HasSuffix(name, end) && name != end })
}

// localEnds are the ends of names that no name server of the open network
// answers for: of RFC 6762 (.local, and those of its appendix G that routers
// give out) and RFC 8375 (.home.arpa).
var localEnds = []string{".local", ".home.arpa", ".lan", ".home", ".internal", ".intranet", ".private"}

// split takes a host apart, with a port or without: its name as names are
// compared and, if that is an address in figures, the address.
func split(host string) (name string, ip netip.Addr, figures bool) {
	name = host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = plainName(strings.TrimSuffix(strings.TrimPrefix(name, "["), "]"))
	ip, err := netip.ParseAddr(name)
	return name, ip, err == nil
}

// plainName is a host's name as names are compared.
func plainName(name string) string { return strings.ToLower(strings.TrimSuffix(name, ".")) }

// ownNames are the machine's name, whole and up to its first dot, and those
// given besides.
func ownNames(more []string) []string {
	var names []string
	if own, err := os.Hostname(); err == nil {
		short, _, _ := strings.Cut(own, ".")
		more = append([]string{own, short}, more...)
	}
	for _, n := range more {
		if n = plainName(n); n != "" {
			names = append(names, n)
		}
	}
	return names
}
