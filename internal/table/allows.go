package table

import (
	"fmt"
	"sort"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

// Allows says in words what the shape accepts.
func (s Shape) Allows() string {
	switch s.Kind {
	case KindWord:
		return strings.Join(s.Words, ", ")
	case KindNumber:
		if len(s.Only) > 0 {
			return strings.Trim(strings.ReplaceAll(fmt.Sprint(s.Only), " ", ", "), "[]")
		}
		if s.Min == s.Max {
			return s.withUnit(decimal(s.Max))
		}
		what := "a number"
		if s.Whole {
			what = "a whole number"
		}
		return fmt.Sprintf("%s from %s to %s", what, decimal(s.Min), s.withUnit(decimal(s.Max)))
	case KindBool:
		return "true or false"
	case KindMap:
		return "a map of " + strings.Join(s.keys(), ", ")
	case KindKeyed:
		return "a map under " + s.Keys.Name
	case KindList:
		return "a list of " + s.Of.Allows()
	case KindEither:
		options := make([]string, len(s.Either))
		for i, option := range s.Either {
			options[i] = option.Allows()
		}
		return strings.Join(options, ", or ")
	}
	if s.Grammar != nil {
		return s.Grammar.Name
	}
	return "one line of text"
}

func (s Shape) yamlKind() yaml.Kind {
	switch s.Kind {
	case KindMap, KindKeyed:
		return yaml.MappingNode
	case KindList:
		return yaml.SequenceNode
	}
	return yaml.ScalarNode
}

func kindOf(n *yaml.Node) string {
	switch n.Kind {
	case yaml.MappingNode:
		return "a map"
	case yaml.SequenceNode:
		return "a list"
	}
	return quote(n.Value)
}

// nodeOf builds the YAML node of a Go value made of maps, slices and scalars.
func nodeOf(value any) *yaml.Node {
	switch v := value.(type) {
	case map[string]any:
		n := &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map"}
		keys := make([]string, 0, len(v))
		for k := range v {
			keys = append(keys, k)
		}
		sort.Strings(keys)
		for _, k := range keys {
			n.Content = append(n.Content, &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: k}, nodeOf(v[k]))
		}
		return n
	case []any:
		n := &yaml.Node{Kind: yaml.SequenceNode, Tag: "!!seq"}
		for _, item := range v {
			n.Content = append(n.Content, nodeOf(item))
		}
		return n
	case nil:
		return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!null"}
	case float64:
		return &yaml.Node{Kind: yaml.ScalarNode, Value: strconv.FormatFloat(v, 'f', -1, 64)}
	case string:
		n := &yaml.Node{Kind: yaml.ScalarNode, Value: v}
		if v != "" && n.ShortTag() == "!!null" { // a patient may be called Null
			n.Tag = "!!str"
		}
		return n
	}
	return &yaml.Node{Kind: yaml.ScalarNode, Value: fmt.Sprint(value)}
}
