package main

import (
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/url"
	"syscall"
)

// windowsAddrInUse is WSAEADDRINUSE, which the syscall package does not take for EADDRINUSE.
const windowsAddrInUse = syscall.Errno(10048)

// listen opens a port before anything else is started, as it may well be taken. The option is the one that names it.
func listen(option, addr string) (net.Listener, error) {
	l, err := net.Listen("tcp", addr)
	switch {
	case err == nil:
		return l, nil
	case errors.Is(err, syscall.EADDRINUSE), errors.Is(err, windowsAddrInUse):
		return nil, fmt.Errorf("the address %s is in use by another program: stop it, or choose another with %s", addr,
			option)
	case errors.Is(err, fs.ErrPermission):
		return nil, fmt.Errorf("this user may not listen on %s: choose a port above 1023 with %s", addr, option)
	default:
		return nil, fmt.Errorf("cannot listen on %s (%s takes HOST:PORT): %w", addr, option, err)
	}
}

// address is where a browser on this machine finds the listener.
func address(scheme string, l net.Listener) string {
	addr := l.Addr().(*net.TCPAddr)
	host := addr.IP.String()
	if addr.IP.IsUnspecified() {
		host = "127.0.0.1"
	}
	return atHost(scheme, host, l)
}

// atHost is the listener's address under another of the machine's names.
func atHost(scheme, host string, l net.Listener) string {
	port := portOf(l)
	if scheme == "https" && port == "443" {
		if ip := net.ParseIP(host); ip != nil && ip.To4() == nil {
			host = "[" + host + "]"
		}
		return (&url.URL{Scheme: scheme, Host: host}).String()
	}
	return scheme + "://" + net.JoinHostPort(host, port)
}

func portOf(l net.Listener) string { return fmt.Sprint(l.Addr().(*net.TCPAddr).Port) }
