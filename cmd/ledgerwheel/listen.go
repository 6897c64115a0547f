package main

import (
	"errors"
	"fmt"
	"io/fs"
	"net"
	"syscall"
)

// windowsAddrInUse is WSAEADDRINUSE, which the syscall package does not take for EADDRINUSE.
const windowsAddrInUse = syscall.Errno(10048)

// listen opens the program's port before anything else is started, as it may well be taken.
func listen(addr string) (net.Listener, error) {
	l, err := net.Listen("tcp", addr)
	switch {
	case err == nil:
		return l, nil
	case errors.Is(err, syscall.EADDRINUSE), errors.Is(err, windowsAddrInUse):
		return nil, fmt.Errorf("the address %s is in use by another program: stop it, or choose another with --listen", addr)
	case errors.Is(err, fs.ErrPermission):
		return nil, fmt.Errorf("this user may not listen on %s: choose a port above 1023 with --listen", addr)
	default:
		return nil, fmt.Errorf("cannot listen on %s (--listen takes HOST:PORT): %w", addr, err)
	}
}

// address is where a browser on this machine finds the listener.
func address(l net.Listener) string {
	addr := l.Addr().(*net.TCPAddr)
	host := addr.IP.String()
	if addr.IP.IsUnspecified() {
		host = "127.0.0.1"
	}
	return "http://" + net.JoinHostPort(host, fmt.Sprint(addr.Port))
}
