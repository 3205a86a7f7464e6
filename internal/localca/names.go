package localca

import (
	"crypto/x509"
	"net"
	"net/netip"
	"slices"
	"strings"
)

// ranges are the addresses that the authority may vouch for; none of them is reachable from the internet.
var ranges = [...]string{
	"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", // private, RFC 1918 section 3
	"127.0.0.0/8", "::1/128", // loopback, RFC 1122 section 3.2.1.3 and RFC 4291 section 2.5.3
	"169.254.0.0/16", "fe80::/10", // link-local, RFC 3927 section 2.1 and RFC 4291 section 2.5.6
	"fc00::/7", // unique local, RFC 4193 section 3.1
}

// suffixes are the domains that the authority may vouch for; none can be registered in the public domain name system.
var suffixes = [...]string{
	"local",     // RFC 6762 section 3
	"lan",       // common practice of routers, no published source
	"home.arpa", // RFC 8375 section 3
	"internal",  // ICANN Board resolution of 29 July 2024
	"localhost", // RFC 6761 section 6.3
}

// private says whether a lies in one of the ranges. An IPv4 address written as IPv6 counts as IPv4.
func private(a netip.Addr) bool {
	a = a.Unmap().WithZone("")
	return slices.ContainsFunc(ranges[:], func(s string) bool { return netip.MustParsePrefix(s).Contains(a) })
}

// clean brings a host name to the form in which names are compared: lower case, without the final dot.
func clean(name string) string {
	return strings.ToLower(strings.TrimSuffix(strings.TrimSpace(name), "."))
}

// validName says whether name is a host name by RFC 1123 section 2.1: labels of 1 to 63 letters, digits and inner hyphens, at
// most 253 characters, and not mistakable for an address (a last label of digits only).
func validName(name string) bool {
	labels := strings.Split(name, ".")
	if len(name) > 253 || strings.Trim(labels[len(labels)-1], "0123456789") == "" {
		return false
	}
	return !slices.ContainsFunc(labels, func(l string) bool { return !validLabel(l) })
}

func validLabel(l string) bool {
	if l == "" || len(l) > 63 || l[0] == '-' || l[len(l)-1] == '-' {
		return false
	}
	return strings.Trim(l, "abcdefghijklmnopqrstuvwxyz0123456789-") == ""
}

// ownable says whether the machine's host name may be vouched for besides the suffixes.
//
// A constraint "tools" would permit every name under .tools, so a name of one label is taken only if it holds a digit or a
// hyphen: no top-level domain does, but for those that start with "xn--" (RFC 1123 section 2.1: "alphabetic"; RFC 5890
// section 2.3.2.1). A dotted name is taken from three labels up, so that nobody's whole domain is.
func ownable(host string) bool {
	if !validName(host) {
		return false
	}
	if n := strings.Count(host, "."); n > 0 {
		return n >= 2
	}
	return strings.ContainsAny(host, "0123456789-") && !strings.HasPrefix(host, "xn--")
}

// machineNames gives the names by which tablets may find a machine called host: the host name itself and its first label in
// each suffix. Those that a certificate cannot hold are left out.
func machineNames(host string) []string {
	names := []string{}
	label, _, _ := strings.Cut(clean(host), ".")
	if validLabel(label) {
		for _, s := range suffixes {
			if s != "localhost" && label != "localhost" {
				names = append(names, label+"."+s)
			}
		}
	}
	if h := clean(host); validName(h) && !slices.Contains(names, h) {
		names = append(names, h)
	}
	return names
}

// permits returns a *NameError unless the authority's name constraints allow the name or address.
func permits(ca *x509.Certificate, name string) error {
	if a, err := netip.ParseAddr(name); err == nil {
		ip := net.IP(a.Unmap().WithZone("").AsSlice())
		if slices.ContainsFunc(ca.PermittedIPRanges, func(n *net.IPNet) bool { return n.Contains(ip) }) {
			return nil
		}
		return &NameError{name, "the workshop's authority vouches only for private addresses; for this one give a certificate of your own"}
	}
	if !validName(name) {
		return &NameError{name, "it is not a host name"}
	}
	for _, d := range ca.PermittedDNSDomains {
		if name == d || strings.HasSuffix(name, "."+d) {
			return nil
		}
	}
	return &NameError{name, "the workshop's authority vouches only for " + strings.Join(ca.PermittedDNSDomains, ", ") + "; for this one give a certificate of your own"}
}
