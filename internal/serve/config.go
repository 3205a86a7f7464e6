package serve

import (
	"fmt"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/sheet"
)

// Config says where and how the workshop is served. Flags come before the file, the file before the defaults.
type Config struct {
	Data     string // folder of the database file and of the certificates
	Database string // address of PostgreSQL; "" is the file in Data
	Listen   string // loopback address for this machine
	LAN      string // address for the workshop's network, HTTPS; "" is none
	Trust    string // address of the plain HTTP port that leads to HTTPS; "" is none
	Name     string // under which tablets reach the shop, when it is not an address of this machine
	Cert     string // certificate and key of the shop's own; "" is the own small authority
	Key      string
	Proxies  []string // addresses, and networks as 10.1.0.0/16, of proxies whose X-Forwarded-For is believed
	LogJSON  bool
	Idle     string // a session that is not used for so long is locked, as "15 min"
	Demo     bool   // fill an empty store with the demo workshop

	Now func() time.Time // the clock, which only code can set; nil is time.Now
}

// Default is what is served when nothing else is said.
func Default() Config {
	return Config{Data: "evenstroke-data", Listen: "127.0.0.1:7717", LAN: ":7743", Trust: ":7780", Idle: "15 min"}
}

// ReadConfig reads the one configuration file (YAML), strictly, over what c says.
func ReadConfig(c Config, file string) (Config, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return c, fmt.Errorf("serve: %w", err)
	}
	d, err := sheet.Read(file, data)
	if err != nil {
		return c, err
	}
	m := d.Root()
	m.Count("serve", "the version of the format", 1, 1)
	c.Data = m.OptText("data", "a folder", c.Data)
	c.Database = m.OptText("database", "an address of PostgreSQL", c.Database)
	c.Listen = m.OptText("listen", "a loopback address", c.Listen)
	c.LAN = m.OptText("lan", "an address, or none", c.LAN)
	c.Trust = m.OptText("trust", "an address, or none", c.Trust)
	c.Name = m.OptText("name", "a host name", c.Name)
	c.Cert = m.OptText("certificate", "a PEM file", c.Cert)
	c.Key = m.OptText("key", "a PEM file", c.Key)
	c.Idle = m.OptText("idle", "a time", c.Idle)
	if m.Has("proxies") {
		c.Proxies = m.Texts("proxies", "an address, or a network as 10.1.0.0/16")
	}
	c.LogJSON = m.OptBool("log_json", c.LogJSON)
	m.Done()
	return c, d.Err()
}

// check refuses what cannot be served and turns the word none into nothing.
func (c *Config) check() error {
	for _, v := range []*string{&c.LAN, &c.Trust} {
		if *v == "none" {
			*v = ""
		}
	}
	host, _, ok := strings.Cut(c.Listen, ":")
	if strings.HasPrefix(c.Listen, "[::1]:") {
		host, ok = "::1", true
	}
	if !ok || host != "127.0.0.1" && host != "localhost" && host != "::1" {
		return record.Faultf(record.Invalid, "listen", c.Listen, "a loopback address as 127.0.0.1:7717", "the workshop's network is reached under lan, by HTTPS")
	}
	if _, err := c.proxies(); err != nil {
		return err
	}
	if (c.Cert == "") != (c.Key == "") {
		return record.Faultf(record.Invalid, "certificate", "only one of certificate and key", "both, or neither for the own authority", "")
	}
	return nil
}

// The shortest prefix of a network of proxies, of IPv4 and of IPv6: whoever is in it can say that a request comes from anywhere.
const widest4, widest6 = 8, 16

// proxies reads the networks of the proxies. One that holds everybody is refused: then nobody's address would be known.
func (c *Config) proxies() ([]netip.Prefix, error) {
	out := make([]netip.Prefix, 0, len(c.Proxies))
	for _, s := range c.Proxies {
		p, err := netip.ParsePrefix(s)
		if a, aerr := netip.ParseAddr(s); aerr == nil && a.Zone() == "" {
			p, err = netip.PrefixFrom(a, a.BitLen()), nil
		}
		bad := func(found, mend string) error {
			return record.Faultf(record.Invalid, "proxies", fmt.Sprintf("%.60q%s", s, found), "addresses of proxies, or networks as 10.1.0.0/16", mend)
		}
		switch {
		case err != nil:
			return nil, bad("", "list the addresses under which the proxies come, not their names")
		case p.Addr().Is4In6():
			return nil, bad(", an IPv4 address in an IPv6 one", "write it as IPv4")
		case p != p.Masked():
			return nil, bad(", which has bits beyond its length", "write "+p.Masked().String()+", or the address alone")
		case p.Bits() < widest4 || p.Addr().Is6() && p.Bits() < widest6:
			return nil, bad(", nearly everybody", fmt.Sprintf("name the proxies themselves: /%d at least, /%d of IPv6", widest4, widest6))
		}
		out = append(out, p)
	}
	return out, nil
}

// Where is the address of the store.
func (c *Config) Where() string {
	if c.Database != "" {
		return c.Database
	}
	return filepath.Join(c.Data, "workshop.db")
}
