package runner

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"reflect"
)

// What the page and the engine's thread tell each other goes as bytes. Both are the same
// program, so a value is written as its kind says, with no names: structs by their exported
// fields, slices and pointers with whether they are nil, floats to the bit.

var errWire = errors.New("runner: not what was written")

// ToWire writes a value for another program of the same source.
func ToWire(v any) []byte { return appendWire(nil, reflect.ValueOf(v)) }

func appendWire(b []byte, v reflect.Value) []byte {
	switch v.Kind() {
	case reflect.Bool:
		if v.Bool() {
			return append(b, 1)
		}
		return append(b, 0)
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		return binary.AppendVarint(b, v.Int())
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return binary.AppendUvarint(b, v.Uint())
	case reflect.Float32, reflect.Float64:
		return binary.LittleEndian.AppendUint64(b, math.Float64bits(v.Float()))
	case reflect.String:
		b = binary.AppendUvarint(b, uint64(v.Len()))
		return append(b, v.String()...)
	case reflect.Slice:
		if v.IsNil() {
			return append(b, 0)
		}
		b = binary.AppendUvarint(b, uint64(v.Len())+1)
		fallthrough
	case reflect.Array:
		for i := range v.Len() {
			b = appendWire(b, v.Index(i))
		}
		return b
	case reflect.Pointer:
		if v.IsNil() {
			return append(b, 0)
		}
		return appendWire(append(b, 1), v.Elem())
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				b = appendWire(b, v.Field(i))
			}
		}
		return b
	}
	panic(fmt.Sprintf("runner: a %s does not go to another thread", v.Type()))
}

// FromWire reads what ToWire wrote into what to points to.
func FromWire(b []byte, to any) error {
	rest, err := readWire(b, reflect.ValueOf(to).Elem())
	if err == nil && len(rest) > 0 {
		err = errWire
	}
	return err
}

func readWire(b []byte, v reflect.Value) ([]byte, error) {
	number := func() (uint64, error) {
		x, n := binary.Uvarint(b)
		if n <= 0 {
			return 0, errWire
		}
		b = b[n:]
		return x, nil
	}
	switch v.Kind() {
	case reflect.Bool:
		if len(b) == 0 {
			return nil, errWire
		}
		v.SetBool(b[0] == 1)
		return b[1:], nil
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		x, n := binary.Varint(b)
		if n <= 0 {
			return nil, errWire
		}
		v.SetInt(x)
		return b[n:], nil
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		x, err := number()
		v.SetUint(x)
		return b, err
	case reflect.Float32, reflect.Float64:
		if len(b) < 8 {
			return nil, errWire
		}
		v.SetFloat(math.Float64frombits(binary.LittleEndian.Uint64(b)))
		return b[8:], nil
	case reflect.String:
		n, err := number()
		if err != nil || n > uint64(len(b)) {
			return nil, errWire
		}
		v.SetString(string(b[:n]))
		return b[n:], nil
	case reflect.Slice:
		n, err := number()
		if err != nil || n > uint64(len(b))+1 {
			return nil, errWire
		}
		if n == 0 {
			v.SetZero()
			return b, nil
		}
		v.Set(reflect.MakeSlice(v.Type(), int(n-1), int(n-1)))
		fallthrough
	case reflect.Array:
		var err error
		for i := range v.Len() {
			if b, err = readWire(b, v.Index(i)); err != nil {
				return nil, err
			}
		}
		return b, nil
	case reflect.Pointer:
		if len(b) == 0 {
			return nil, errWire
		}
		if b[0] == 0 {
			v.SetZero()
			return b[1:], nil
		}
		v.Set(reflect.New(v.Type().Elem()))
		return readWire(b[1:], v.Elem())
	case reflect.Struct:
		var err error
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				if b, err = readWire(b, v.Field(i)); err != nil {
					return nil, err
				}
			}
		}
		return b, nil
	}
	panic(fmt.Sprintf("runner: a %s does not come from another thread", v.Type()))
}
