// Package api is the REST interface of a workshop under /api/v1, for programs: what the pages do, with the same checks (package shop).
//
// A program comes with a bearer token (RFC 6750) that an owner or the office made; cookies of the pages count for nothing here. Bodies are
// JSON and read strictly; numbers that go out carry their UCUM unit in their name or beside them; errors are problem details (RFC 9457).
// What was sent under an Idempotency-Key is taken once; a job and a value of the catalogue have strong entity tags, so that a reader
// asks for news only and a writer does not write over what it has not seen (RFC 9110 section 13). Lists go on by Link headers (RFC 8288).
//
// The document that describes it (OpenAPI 3.1) is made from the code and answered at /api/v1/openapi.json and .yaml.
package api
