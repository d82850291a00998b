package table

// Schema returns the shape as a JSON Schema (draft 2020-12), for editors. It
// says all that a schema can: cross-checks between fields stay with the reader.
func (s Shape) Schema(title string) map[string]any {
	schema := s.schema()
	schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	schema["title"] = title
	return schema
}

func (s Shape) schema() map[string]any {
	m := map[string]any{}
	if s.Doc != "" {
		m["description"] = s.Doc
	}
	switch s.Kind {
	case KindText:
		s.textSchema(m)
	case KindWord:
		m["enum"] = s.Words
	case KindNumber:
		m["type"], m["minimum"], m["maximum"] = "number", s.Min, s.Max
		if s.Whole {
			m["type"] = "integer"
		}
		if len(s.Only) > 0 {
			m["enum"] = s.Only
		}
	case KindBool:
		m["type"] = "boolean"
	case KindMap:
		s.mapSchema(m)
	case KindKeyed:
		m["type"], m["additionalProperties"] = "object", false
		m["patternProperties"] = map[string]any{"^(?:" + s.Keys.Pattern + ")$": s.Of.schema()}
	case KindList:
		m["type"], m["items"] = "array", s.Of.schema()
		if s.Least > 0 {
			m["minItems"] = s.Least
		}
	case KindEither:
		options := make([]any, len(s.Either))
		for i, option := range s.Either {
			options[i] = option.schema()
		}
		m["anyOf"] = options
	}
	return m
}

// textSchema lets a number stand for its digits, as the reader does: a phone
// number need not be quoted.
func (s Shape) textSchema(m map[string]any) {
	m["maxLength"] = s.most()
	if s.Grammar == nil {
		m["type"], m["pattern"] = []string{"string", "number", "boolean"}, `\S`
		return
	}
	m["type"], m["pattern"] = "string", "^(?:"+s.Grammar.Pattern+")$"
	if s.Grammar.Format != "" {
		m["format"] = s.Grammar.Format
	}
}

func (s Shape) mapSchema(m map[string]any) {
	properties, required := map[string]any{}, []string{}
	for _, f := range s.Fields {
		properties[f.Key] = f.Shape.schema()
		if f.Required {
			required = append(required, f.Key)
		}
	}
	m["type"], m["properties"], m["additionalProperties"] = "object", properties, false
	if len(required) > 0 {
		m["required"] = required
	}
}
