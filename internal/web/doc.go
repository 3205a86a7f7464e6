// Package web is the bench in a browser: pages made on the server, small scripts, nothing fetched from outside.
//
// A page works with scripts off, except for the live hold. Forms post and are answered by the page again with the errors beside
// their fields (422), or by a redirect (303). What can be done, package shop does; who may, package gate says; the pages show
// results that other packages made and round nothing themselves. All words come from package text.
package web
