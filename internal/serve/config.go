package serve

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

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
	LogJSON  bool
	Idle     string // a session that is not used for so long is locked, as "15 min"
	Demo     bool   // fill an empty store with the demo workshop
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
	if (c.Cert == "") != (c.Key == "") {
		return record.Faultf(record.Invalid, "certificate", "only one of certificate and key", "both, or neither for the own authority", "")
	}
	return nil
}

// Where is the address of the store.
func (c *Config) Where() string {
	if c.Database != "" {
		return c.Database
	}
	return filepath.Join(c.Data, "workshop.db")
}
