package table

import (
	"errors"
	"fmt"
	"strings"

	"go.yaml.in/yaml/v3"
)

// append writes one more entry at the end of the list at a place.
func (e *editing) append(p place, value any) error {
	list := p.value()
	if list == nil {
		return e.put(p, []any{value}, "", false)
	}
	if list.Kind != yaml.SequenceNode {
		return fmt.Errorf("%s is no list", p.path)
	}
	of := p.shape.entryShape()
	text := of.Line(value)
	node, err := nodeIn(text)
	if err != nil {
		return err
	}
	e.wanted(list, len(list.Content), 0, node)
	switch {
	case len(list.Content) == 0:
		at := e.start(list) + 1
		e.splice(at, at, text)
		return nil
	case list.Style&yaml.FlowStyle != 0:
		return e.appendFlow(list, text)
	}
	return e.appendBlock(list, of, value)
}

// appendBlock writes an entry on lines of its own, as the last one is written.
func (e *editing) appendBlock(list *yaml.Node, of Shape, value any) error {
	before, blank := e.leads(e.start(list))
	if !blank {
		return errors.New("its first entry does not begin its line")
	}
	var b strings.Builder
	indent := strings.Repeat(" ", before)
	if pairs := of.pairs(nodeOf(value)); len(pairs) > 0 && last(list).Style&yaml.FlowStyle == 0 {
		writeMap(&b, pairs, indent+"- ", indent+"  ")
	} else {
		b.WriteString(indent + "- " + of.Line(value) + "\n")
	}
	return e.insertLines(list, e.broken(b.String()))
}

// appendFlow writes an entry before a closing bracket: on a line of its own where the
// last one has a line of its own, so that the comment of that one stays beside it.
func (e *editing) appendFlow(list *yaml.Node, text string) error {
	end, err := e.end(last(list))
	if err != nil {
		return err
	}
	closing, err := e.end(list)
	if err != nil {
		return err
	}
	at, comma := end, ""
	if next := e.pass(end, ""); e.data[next] == ',' {
		at, comma = next+1, ","
	} else {
		e.splice(end, end, ",")
	}
	before, blank := e.leads(e.start(last(list)))
	if blank && e.lineEnd(at) < closing {
		line := e.lineEnd(at)
		e.splice(line, line, e.eol+strings.Repeat(" ", before)+text+comma)
		return nil
	}
	e.splice(at, at, " "+text)
	return nil
}

// remove takes a key or an entry away.
func (e *editing) remove(p place) error {
	if p.at < 0 {
		return errors.New("it is not there")
	}
	e.wanted(p.parent, p.at, p.width())
	end, err := e.end(p.value())
	if err != nil {
		return err
	}
	switch only := len(p.parent.Content) == p.width(); {
	case p.parent.Style&yaml.FlowStyle != 0:
		return e.removeFlow(p, end)
	case only:
		return e.removeAll(p)
	}
	return e.removeLines(e.begin(p), end)
}

// begin is where a place begins: at its key, at its entry or at the dash before that.
func (e *editing) begin(p place) int {
	at := e.start(p.first())
	if p.parent.Kind == yaml.MappingNode || p.parent.Style&yaml.FlowStyle != 0 {
		return at
	}
	for line := p.first().Line; line >= p.parent.Line; line-- {
		dash := e.starts[line-1] + p.parent.Column - 1
		if _, blank := e.leads(dash); dash <= at && blank && e.data[dash] == '-' {
			return dash
		}
	}
	return at
}

// removeLines takes the lines from one place to another away.
func (e *editing) removeLines(from, to int) error {
	if _, blank := e.leads(from); !blank {
		return errors.New("something else stands first on its line")
	}
	e.splice(e.lineStart(from), e.nextLine(to), "")
	return nil
}

// removeAll leaves an empty list or map where the only entry goes.
func (e *editing) removeAll(p place) error {
	if p.above == "" {
		return errors.New("nothing would be left")
	}
	above, err := e.find(p.above)
	if err != nil {
		return err
	}
	if p.parent.Kind == yaml.MappingNode {
		return e.replace(above, "{}")
	}
	return e.replace(above, "[]")
}

// removeFlow takes an entry between brackets away, with the comma that parts it from
// the next or the last; an entry that has lines of its own goes with those.
func (e *editing) removeFlow(p place, end int) error {
	from := e.start(p.first())
	next := e.pass(end, "")
	comma := e.data[next] == ','
	if comma {
		end = next + 1
	}
	lastOne := p.at+p.width() == len(p.parent.Content)
	if lastOne && p.at > 0 {
		if err := e.dropComma(p, from, comma); err != nil {
			return err
		}
	}
	_, blank := e.leads(from)
	rest := e.pass(end, "")
	switch {
	case blank && rest > e.lineEnd(end):
		e.splice(e.lineStart(from), e.nextLine(end), "")
	case lastOne && !comma:
		e.splice(from, end, "")
	case rest <= e.lineEnd(end):
		e.splice(from, rest, "")
	default: // a comment or a break follows
		e.splice(from, end, "")
	}
	return nil
}

// dropComma takes away the comma before the last entry, and the blanks after it, where
// the entry itself has none after it to go.
func (e *editing) dropComma(p place, from int, kept bool) error {
	before, err := e.end(p.parent.Content[p.at-1])
	if err != nil || kept {
		return err
	}
	at := e.pass(before, "")
	if at >= from {
		return errUnclear
	}
	to := e.pass(at+1, "")
	if to > e.lineEnd(at) {
		to = at + 1 // a comment or a break follows
	}
	e.splice(at, to, "")
	return nil
}

// rename writes another key at a place.
func (e *editing) rename(p place, key string) error {
	if p.at < 0 || p.key == "" {
		return errors.New("there is no such key")
	}
	if keyIn(p.parent, key) >= 0 {
		return fmt.Errorf("%s is there already", key)
	}
	end, err := e.end(p.first())
	if err != nil {
		return err
	}
	e.wanted(p.parent, p.at, 1, &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: key})
	e.splice(e.start(p.first()), end, writeText(key, true))
	return nil
}
