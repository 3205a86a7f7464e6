package serve

import (
	"errors"
	"fmt"
	"net"
	"net/netip"
	"path/filepath"
	"strconv"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/unit"
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
	Heads    string   // folder into which the signed head of the chain is written each day; "" is none
	LogJSON  bool
	Idle     string // a session that is not used for so long is locked, as "15 min"
	Demo     bool   // fill an empty store with the demo workshop

	Now func() time.Time // the clock, which only code can set; nil is time.Now
}

// Default is what is served when nothing else is said.
func Default() Config {
	return Config{Data: "evenstroke-data", Listen: "127.0.0.1:7717", LAN: ":7743", Trust: ":7780", Idle: "15 min"}
}

// ReadConfig reads the one configuration file (YAML), strictly, over what c says. file is its name, for errors, which are sheet.Errors.
func ReadConfig(c Config, file string, data []byte) (Config, error) {
	d, err := sheet.Read(file, data)
	if err != nil {
		return c, err
	}
	m := d.Root()
	if !m.Format("serve", 1) {
		return c, d.Err()
	}
	c.Data = m.OptText("data", "a folder", c.Data)
	c.Database = m.OptText("database", "an address of PostgreSQL", c.Database)
	c.Listen = m.OptText("listen", "a loopback address", c.Listen)
	c.LAN = m.OptText("lan", "an address, or none", c.LAN)
	c.Trust = m.OptText("trust", "an address, or none", c.Trust)
	c.Name = m.OptText("name", "a host name", c.Name)
	c.Cert = m.OptText("certificate", "a PEM file", c.Cert)
	c.Key = m.OptText("key", "a PEM file", c.Key)
	c.Idle = m.OptText("idle", "a time", c.Idle)
	c.Heads = m.OptText("heads", "a folder", c.Heads)
	if p := m.Texts("proxies", "an address, or a network as 10.1.0.0/16"); m.Has("proxies") {
		c.Proxies = p
	}
	c.LogJSON = m.OptBool("log_json", c.LogJSON)
	m.Done()
	if d.Err() == nil {
		c.checkLines(m)
	}
	return c, d.Err()
}

// checkLines notes what cannot be served where it stands in the file.
func (c *Config) checkLines(m *sheet.Map) {
	_, idleErr := c.idle()
	_, proxiesErr := c.proxies()
	for key, err := range map[string]error{"listen": c.checkListen(), "lan": checkAddress("lan", c.LAN), "trust": checkAddress("trust", c.Trust), "idle": idleErr, "proxies": proxiesErr} {
		var f *record.Fault
		if m.Has(key) && errors.As(err, &f) {
			m.Fail(key, f.Found, f.Want, f.Mend)
		}
	}
}

// check refuses what cannot be served and turns the word none into nothing.
func (c *Config) check() error {
	for _, v := range []*string{&c.LAN, &c.Trust} {
		if *v == "none" {
			*v = ""
		}
	}
	if err := c.checkListen(); err != nil {
		return err
	}
	_, idleErr := c.idle()
	_, proxiesErr := c.proxies()
	for _, err := range []error{checkAddress("lan", c.LAN), checkAddress("trust", c.Trust), idleErr, proxiesErr} {
		if err != nil {
			return err
		}
	}
	if (c.Cert == "") != (c.Key == "") {
		return record.Faultf(record.Invalid, "certificate", "only one of certificate and key", "both, or neither for the own authority", "")
	}
	return nil
}

// checkListen refuses what is no loopback address: plain HTTP is for this machine alone.
func (c *Config) checkListen() error {
	host, port, err := net.SplitHostPort(c.Listen)
	if err != nil || !isPort(port) || host != "127.0.0.1" && host != "localhost" && host != "::1" {
		return record.Faultf(record.Invalid, "listen", fmt.Sprintf("%.60q", c.Listen), "a loopback address as 127.0.0.1:7717", "the workshop's network is reached under lan, by HTTPS")
	}
	return nil
}

// checkAddress refuses what is neither an address with a port nor none.
func checkAddress(key, address string) error {
	if address == "" || address == "none" {
		return nil
	}
	if _, port, err := net.SplitHostPort(address); err != nil || !isPort(port) {
		return record.Faultf(record.Invalid, key, fmt.Sprintf("%.60q", address), "an address with a port as :7743 or 192.168.1.20:7743, or none", "write the port after a colon")
	}
	return nil
}

func isPort(s string) bool {
	_, err := strconv.ParseUint(s, 10, 16)
	return err == nil
}

// idle reads after what time a person is signed out.
func (c *Config) idle() (time.Duration, error) {
	v, err := unit.Parse(c.Idle, unit.Time)
	var ue *unit.Error
	switch {
	case errors.As(err, &ue):
		return 0, record.Faultf(record.Invalid, "idle", ue.Found, "a time as 15 min", ue.Fix)
	case err != nil:
		return 0, err
	case v.SI < 1 || v.SI > mostIdle.Seconds():
		return 0, record.Faultf(record.Invalid, "idle", fmt.Sprintf("%.60q", c.Idle), "a time from 1 s to 7 days", "write it as 15 min")
	}
	return time.Duration(v.SI * float64(time.Second)), nil
}

// mostIdle is the longest time for which a tablet that nobody touches stays signed in.
const mostIdle = 7 * 24 * time.Hour

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
