package web

import (
	"net"
	"net/netip"
	"sync"
)

// A limitListener lets in so many connections at a time, and so many from one address, so that one
// machine cannot keep all others out. A connection too many from one address is closed at once; when
// all are taken, the next waits until one is given back.
type limitListener struct {
	net.Listener
	perAddress int
	free       chan struct{} // holds an entry for each connection in use
	closed     chan struct{}
	closeOnce  sync.Once

	mu   sync.Mutex
	from map[netip.Addr]int
}

func limit(l net.Listener, all, perAddress int) *limitListener {
	return &limitListener{Listener: l, perAddress: perAddress, free: make(chan struct{}, all), closed: make(chan struct{}), from: map[netip.Addr]int{}}
}

// Accept is the next connection that is within the limits.
func (l *limitListener) Accept() (net.Conn, error) {
	for {
		select {
		case l.free <- struct{}{}:
		case <-l.closed:
			return nil, net.ErrClosed
		}
		c, err := l.Listener.Accept()
		if err != nil {
			<-l.free
			return nil, err
		}
		ip := peer(c)
		if l.enter(ip) {
			return &limitedConn{Conn: c, leave: sync.OnceFunc(func() { l.leave(ip) })}, nil
		}
		c.Close()
		<-l.free
	}
}

// Close stops the listener, also where Accept waits for a connection to be given back.
func (l *limitListener) Close() error {
	l.closeOnce.Do(func() { close(l.closed) })
	return l.Listener.Close()
}

// peer is where a connection comes from. Of IPv6 it is the network of 64 bits, all of which one machine
// may use.
func peer(c net.Conn) netip.Addr {
	at, err := netip.ParseAddrPort(c.RemoteAddr().String())
	if err != nil {
		return netip.Addr{} // no IP network; all count as one
	}
	ip := at.Addr().Unmap()
	if ip.Is4() {
		return ip
	}
	network, err := ip.WithZone("").Prefix(64)
	if err != nil {
		return ip
	}
	return network.Addr()
}

func (l *limitListener) enter(ip netip.Addr) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.from[ip] >= l.perAddress {
		return false
	}
	l.from[ip]++
	return true
}

func (l *limitListener) leave(ip netip.Addr) {
	l.mu.Lock()
	if l.from[ip]--; l.from[ip] == 0 {
		delete(l.from, ip)
	}
	l.mu.Unlock()
	<-l.free
}

// A limitedConn gives its place back when it is closed.
type limitedConn struct {
	net.Conn
	leave func()
}

// Close closes the connection; more than once is harmless.
func (c *limitedConn) Close() error {
	defer c.leave()
	return c.Conn.Close()
}
