package source

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"strings"
	"unicode/utf8"
)

// node is a value of a JSON text with its place, so that every problem of a
// manifest can be named by line and column.
type node struct {
	at      int // byte offset
	value   any // string, json.Number, bool or nil; unused for objects and lists
	members []member
	items   []*node
	kind    kind
}

type member struct {
	name  string
	at    int
	value *node
}

type kind uint8

const (
	scalar kind = iota
	object
	list
)

// parseJSON reads exactly one JSON value. The error is a *json.SyntaxError
// where the place is known.
func parseJSON(raw []byte) (*node, error) {
	if !utf8.Valid(raw) {
		return nil, errors.New("not UTF-8")
	}
	p := &jsonParser{raw: raw, dec: json.NewDecoder(bytes.NewReader(raw))}
	p.dec.UseNumber()
	n, err := p.next()
	if err != nil {
		return nil, err
	}
	if _, err := p.dec.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("text after the end of the JSON value")
	}
	return n, nil
}

type jsonParser struct {
	raw []byte
	dec *json.Decoder
}

// start is the offset of the token that comes next.
func (p *jsonParser) start() int {
	at := int(p.dec.InputOffset())
	for at < len(p.raw) && strings.IndexByte(" \t\r\n,:", p.raw[at]) >= 0 {
		at++
	}
	return at
}

func (p *jsonParser) next() (*node, error) {
	n := &node{at: p.start()}
	token, err := p.dec.Token()
	if err != nil {
		return nil, err
	}
	switch token {
	case json.Delim('{'):
		n.kind = object
		for p.dec.More() {
			at := p.start()
			name, err := p.dec.Token()
			if err != nil {
				return nil, err
			}
			v, err := p.next()
			if err != nil {
				return nil, err
			}
			text, _ := name.(string)
			n.members = append(n.members, member{name: text, at: at, value: v})
		}
		_, err = p.dec.Token()
	case json.Delim('['):
		n.kind = list
		for p.dec.More() {
			v, err := p.next()
			if err != nil {
				return nil, err
			}
			n.items = append(n.items, v)
		}
		_, err = p.dec.Token()
	default:
		n.value = token
	}
	return n, err
}

// position turns a byte offset into line and column, both from 1.
func position(raw []byte, at int) (line, column int) {
	at = min(max(at, 0), len(raw))
	before := raw[:at]
	line = 1 + bytes.Count(before, []byte{'\n'})
	return line, 1 + utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:])
}
