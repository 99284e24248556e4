package web

import (
	"net"
	"net/netip"
	"testing"
)

// from is a connection that comes from an address.
type from struct {
	net.Conn
	address string
}

func (f from) RemoteAddr() net.Addr {
	return net.TCPAddrFromAddrPort(netip.MustParseAddrPort(f.address))
}

// One machine has a network of IPv6 addresses to itself, so all of it counts as one.
func TestConnectionsOfOneNetwork(t *testing.T) {
	l := limit(nil, 4, 1)
	for _, tt := range []struct {
		address string
		want    bool
	}{
		{"192.0.2.7:1", true}, {"192.0.2.8:1", true}, {"192.0.2.7:2", false}, {"[::ffff:192.0.2.7]:3", false},
		{"[2001:db8::1]:1", true}, {"[2001:db8::ffff:2]:1", false}, {"[2001:db8:0:1::1]:1", true},
		{"[fe80::1%1]:1", true}, {"[fe80::2%1]:1", false},
	} {
		if got := l.enter(peer(from{address: tt.address})); got != tt.want {
			t.Errorf("%s is let in: %t, want %t", tt.address, got, tt.want)
		}
	}
}
