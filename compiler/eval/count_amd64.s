//go:build amd64 && !purego

#include "textflag.h"

// How many of n pairs of values differ.
TEXT ·differWide(SB), NOSPLIT, $0-32
	MOVQ a+0(FP), SI
	MOVQ b+8(FP), DX
	MOVQ n+16(FP), CX
	MOVQ CX, BX
	ANDQ $~3, BX
	XORQ AX, AX
	XORQ R8, R8
	CMPQ AX, BX
	JGE  rest
four:
	VMOVUPD   (SI)(AX*8), Y0
	VCMPPD    $4, (DX)(AX*8), Y0, Y0
	VMOVMSKPD Y0, R9
	POPCNTQ   R9, R9
	ADDQ R9, R8
	ADDQ $4, AX
	CMPQ AX, BX
	JLT  four
rest:
	CMPQ AX, CX
	JGE  done
one:
	VMOVSD    (SI)(AX*8), X0
	VMOVSD    (DX)(AX*8), X1
	VCMPSD    $4, X1, X0, X0
	VMOVMSKPD X0, R9
	ANDQ $1, R9
	ADDQ R9, R8
	INCQ AX
	CMPQ AX, CX
	JLT  one
done:
	MOVQ R8, ret+24(FP)
	VZEROUPPER
	RET
