package localca

import (
	"fmt"
	"net"
	"net/netip"
	"slices"
)

// Addresses gives the machine's private addresses that a tablet can type or scan, best first: private IPv4, then unique local
// IPv6, then link-local IPv4. Loopback is left out, and so is link-local IPv6, since a URL cannot name its zone. A machine
// without a network gives none.
func Addresses() ([]netip.Addr, error) {
	all, err := ownAddresses()
	if err != nil {
		return nil, err
	}
	return reachable(all), nil
}

// ownAddresses gives every address of the interfaces that are up.
func ownAddresses() ([]netip.Addr, error) {
	interfaces, err := net.Interfaces()
	if err != nil {
		return nil, fmt.Errorf("the machine's network interfaces cannot be listed: %w", err)
	}
	var all []netip.Addr
	for _, i := range interfaces {
		if i.Flags&net.FlagUp == 0 {
			continue
		}
		nets, err := i.Addrs()
		if err != nil {
			return nil, fmt.Errorf("the addresses of interface %s cannot be listed: %w", i.Name, err)
		}
		for _, n := range nets {
			if p, err := netip.ParsePrefix(n.String()); err == nil {
				all = append(all, p.Addr().Unmap())
			}
		}
	}
	return all, nil
}

// reachable keeps the addresses for people, in their order.
func reachable(all []netip.Addr) []netip.Addr {
	out := []netip.Addr{}
	for _, a := range all {
		if private(a) && !a.IsLoopback() && (a.Is4() || !a.IsLinkLocalUnicast()) && !slices.Contains(out, a) {
			out = append(out, a)
		}
	}
	slices.SortStableFunc(out, func(a, b netip.Addr) int { return rank(a) - rank(b) })
	return out
}

func rank(a netip.Addr) int {
	switch {
	case a.IsLinkLocalUnicast():
		return 2
	case a.Is6():
		return 1
	}
	return 0
}
