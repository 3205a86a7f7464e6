package gate

import (
	"net/http"
	"net/netip"
	"os"
	"strings"
)

// ownHosts are the names under which the server answers: localhost, the machine's own, and those configured.
func ownHosts(more []string) map[string]bool {
	out := map[string]bool{"localhost": true}
	if name, err := os.Hostname(); err == nil {
		name = strings.TrimSuffix(strings.ToLower(name), ".")
		first, _, _ := strings.Cut(name, ".")
		out[name], out[first], out[first+".local"] = true, true, true
	}
	for _, h := range more {
		out[hostName(h)] = true
	}
	delete(out, "")
	delete(out, ".local")
	return out
}

// hostName is the name or address in a Host header: without port, brackets and final dot, in small letters; "" for one that is none.
func hostName(host string) string {
	if h, port, ok := cutPort(host); ok {
		if strings.Trim(port, "0123456789") != "" || len(port) > 5 {
			return ""
		}
		host = h
	}
	if in, ok := strings.CutPrefix(host, "["); ok {
		in, ok = strings.CutSuffix(in, "]")
		a, err := netip.ParseAddr(in)
		if !ok || err != nil || !a.Is6() {
			return ""
		}
		return a.WithZone("").String()
	}
	if strings.Contains(host, ":") {
		return ""
	}
	return strings.TrimSuffix(strings.ToLower(host), ".")
}

func cutPort(host string) (name, port string, ok bool) {
	i := strings.LastIndexByte(host, ':')
	if i < 0 || strings.HasSuffix(host, "]") || strings.Count(host, ":") > 1 && !strings.HasPrefix(host, "[") {
		return host, "", false
	}
	return host[:i], host[i+1:], true
}

// knownHost says whether a Host header names this server. A page of somebody else that lets its own name point at this address (DNS
// rebinding) is refused by it: a browser sends that name. An address cannot be rebound; private ones are taken.
func (g *Gate) knownHost(host string) bool {
	h := hostName(host)
	if a, err := netip.ParseAddr(h); err == nil {
		a = a.Unmap()
		return a.IsLoopback() || a.IsPrivate() || a.IsLinkLocalUnicast() || g.hosts[h]
	}
	return g.hosts[h] || strings.HasSuffix(h, ".localhost")
}

// address is where a request comes from. X-Forwarded-For is believed only from the proxies named, and only as far as they wrote it: the
// last address in it that is no such proxy.
func (g *Gate) address(r *http.Request) netip.Addr {
	at, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	from := at.Addr().Unmap()
	if !g.proxy(from) {
		return from
	}
	hops := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	for i := len(hops) - 1; i >= 0; i-- {
		a, err := netip.ParseAddr(strings.TrimSpace(hops[i]))
		if err != nil {
			return from
		}
		if from = a.Unmap(); !g.proxy(from) {
			return from
		}
	}
	return from
}

func (g *Gate) proxy(a netip.Addr) bool {
	for _, p := range g.opt.Proxies {
		if p.Contains(a) {
			return true
		}
	}
	return false
}
