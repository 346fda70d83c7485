//go:build amd64 && !purego

#include "textflag.h"

// One operation over nr rows of nc float64, four at a time and the rest one by
// one. DI, SI and DX walk the rows of d, a and b; AX counts columns, BX is nc
// rounded down to fours.

#define LOAD \
	MOVQ d+0(FP), DI;   \
	MOVQ a+8(FP), SI;   \
	MOVQ b+16(FP), DX;  \
	MOVQ nr+24(FP), R8; \
	MOVQ nc+32(FP), CX; \
	MOVQ dr+40(FP), R9; \
	MOVQ ar+48(FP), R10; \
	MOVQ br+56(FP), R11; \
	MOVQ CX, BX;        \
	ANDQ $~3, BX

#define NEXTROW \
	ADDQ R9, DI;  \
	ADDQ R10, SI; \
	ADDQ R11, DX; \
	DECQ R8;      \
	JNZ  row;     \
	VZEROUPPER;   \
	RET

// A value for each column on both sides. PACKED and SINGLE leave in register 0
// what they make of registers 0 and 1.
#define VV(PACKED, SINGLE) \
	LOAD; \
row: \
	XORQ AX, AX; \
	CMPQ AX, BX; \
	JGE  rest;   \
four: \
	VMOVUPD (SI)(AX*8), Y0; \
	VMOVUPD (DX)(AX*8), Y1; \
	PACKED; \
	VMOVUPD Y0, (DI)(AX*8); \
	ADDQ $4, AX; \
	CMPQ AX, BX; \
	JLT  four;   \
rest: \
	CMPQ AX, CX; \
	JGE  done;   \
one: \
	VMOVSD (SI)(AX*8), X0; \
	VMOVSD (DX)(AX*8), X1; \
	SINGLE; \
	VMOVSD X0, (DI)(AX*8); \
	INCQ AX;     \
	CMPQ AX, CX; \
	JLT  one;    \
done: \
	NEXTROW

// One value for the row on the right.
#define VS(PACKED, SINGLE) \
	LOAD; \
row: \
	VBROADCASTSD (DX), Y1; \
	XORQ AX, AX; \
	CMPQ AX, BX; \
	JGE  rest;   \
four: \
	VMOVUPD (SI)(AX*8), Y0; \
	PACKED; \
	VMOVUPD Y0, (DI)(AX*8); \
	ADDQ $4, AX; \
	CMPQ AX, BX; \
	JLT  four;   \
rest: \
	CMPQ AX, CX; \
	JGE  done;   \
one: \
	VMOVSD (SI)(AX*8), X0; \
	SINGLE; \
	VMOVSD X0, (DI)(AX*8); \
	INCQ AX;     \
	CMPQ AX, CX; \
	JLT  one;    \
done: \
	NEXTROW

// One value for the row on the left.
#define SV(PACKED, SINGLE) \
	LOAD; \
row: \
	VBROADCASTSD (SI), Y2; \
	XORQ AX, AX; \
	CMPQ AX, BX; \
	JGE  rest;   \
four: \
	VMOVAPD Y2, Y0; \
	VMOVUPD (DX)(AX*8), Y1; \
	PACKED; \
	VMOVUPD Y0, (DI)(AX*8); \
	ADDQ $4, AX; \
	CMPQ AX, BX; \
	JLT  four;   \
rest: \
	CMPQ AX, CX; \
	JGE  done;   \
one: \
	VMOVAPD X2, X0; \
	VMOVSD (DX)(AX*8), X1; \
	SINGLE; \
	VMOVSD X0, (DI)(AX*8); \
	INCQ AX;     \
	CMPQ AX, CX; \
	JLT  one;    \
done: \
	NEXTROW

#define PADD VADDPD Y1, Y0, Y0
#define SADD VADDSD X1, X0, X0
#define PSUB VSUBPD Y1, Y0, Y0
#define SSUB VSUBSD X1, X0, X0
#define PMUL VMULPD Y1, Y0, Y0
#define SMUL VMULSD X1, X0, X0
#define PDIV VDIVPD Y1, Y0, Y0
#define SDIV VDIVSD X1, X0, X0

// The processor's minimum is its second operand where the two are zeros or one is
// no number. Both ways round, joined, give the lesser zero and what is no number,
// as Go's min does. The maximum is that of the opposites.
#define PMIN VMINPD Y1, Y0, Y2; VMINPD Y0, Y1, Y3; VORPD Y2, Y3, Y0
#define SMIN PMIN
#define PMAX VXORPD Y4, Y0, Y0; VXORPD Y4, Y1, Y5; VMINPD Y5, Y0, Y2; VMINPD Y0, Y5, Y3; VORPD Y2, Y3, Y0; VXORPD Y4, Y0, Y0
#define SMAX PMAX

// A comparison is 1 or 0. What is no number is unequal to all, and nothing else.
#define PCMP(how) VCMPPD $how, Y1, Y0, Y0; VANDPD Y6, Y0, Y0

// The sign bit in Y4 and 1.0 in Y6, four times each, for those that need them.
#define CONSTANTS \
	VPCMPEQD X4, X4, X4; \
	VPSLLQ   $63, X4, X4; \
	VINSERTF128 $1, X4, Y4, Y4; \
	MOVQ $0x3ff0000000000000, AX; \
	VMOVQ AX, X6; \
	VMOVDDUP X6, X6; \
	VINSERTF128 $1, X6, Y6, Y6

TEXT ·addVV(SB), NOSPLIT, $0-64
	VV(PADD, SADD)

TEXT ·subVV(SB), NOSPLIT, $0-64
	VV(PSUB, SSUB)

TEXT ·mulVV(SB), NOSPLIT, $0-64
	VV(PMUL, SMUL)

TEXT ·divVV(SB), NOSPLIT, $0-64
	VV(PDIV, SDIV)

TEXT ·minVV(SB), NOSPLIT, $0-64
	VV(PMIN, SMIN)

TEXT ·maxVV(SB), NOSPLIT, $0-64
	CONSTANTS
	VV(PMAX, SMAX)

TEXT ·ltVV(SB), NOSPLIT, $0-64
	CONSTANTS
	VV(PCMP(17), PCMP(17))

TEXT ·leVV(SB), NOSPLIT, $0-64
	CONSTANTS
	VV(PCMP(18), PCMP(18))

TEXT ·gtVV(SB), NOSPLIT, $0-64
	CONSTANTS
	VV(PCMP(30), PCMP(30))

TEXT ·geVV(SB), NOSPLIT, $0-64
	CONSTANTS
	VV(PCMP(29), PCMP(29))

TEXT ·eqVV(SB), NOSPLIT, $0-64
	CONSTANTS
	VV(PCMP(0), PCMP(0))

TEXT ·neVV(SB), NOSPLIT, $0-64
	CONSTANTS
	VV(PCMP(4), PCMP(4))

TEXT ·addVS(SB), NOSPLIT, $0-64
	VS(PADD, SADD)

TEXT ·subVS(SB), NOSPLIT, $0-64
	VS(PSUB, SSUB)

TEXT ·mulVS(SB), NOSPLIT, $0-64
	VS(PMUL, SMUL)

TEXT ·divVS(SB), NOSPLIT, $0-64
	VS(PDIV, SDIV)

TEXT ·minVS(SB), NOSPLIT, $0-64
	VS(PMIN, SMIN)

TEXT ·maxVS(SB), NOSPLIT, $0-64
	CONSTANTS
	VS(PMAX, SMAX)

TEXT ·ltVS(SB), NOSPLIT, $0-64
	CONSTANTS
	VS(PCMP(17), PCMP(17))

TEXT ·leVS(SB), NOSPLIT, $0-64
	CONSTANTS
	VS(PCMP(18), PCMP(18))

TEXT ·gtVS(SB), NOSPLIT, $0-64
	CONSTANTS
	VS(PCMP(30), PCMP(30))

TEXT ·geVS(SB), NOSPLIT, $0-64
	CONSTANTS
	VS(PCMP(29), PCMP(29))

TEXT ·eqVS(SB), NOSPLIT, $0-64
	CONSTANTS
	VS(PCMP(0), PCMP(0))

TEXT ·neVS(SB), NOSPLIT, $0-64
	CONSTANTS
	VS(PCMP(4), PCMP(4))

TEXT ·subSV(SB), NOSPLIT, $0-64
	SV(PSUB, SSUB)

TEXT ·divSV(SB), NOSPLIT, $0-64
	SV(PDIV, SDIV)

// d = a * k[0] * k[1] * k[2] * k[3].
TEXT ·scaleWide(SB), NOSPLIT, $0-32
	MOVQ d+0(FP), DI
	MOVQ a+8(FP), SI
	MOVQ k+16(FP), DX
	MOVQ n+24(FP), CX
	MOVQ CX, BX
	ANDQ $~3, BX
	VBROADCASTSD 0(DX), Y1
	VBROADCASTSD 8(DX), Y2
	VBROADCASTSD 16(DX), Y3
	VBROADCASTSD 24(DX), Y4
	XORQ AX, AX
	CMPQ AX, BX
	JGE  rest
four:
	VMULPD (SI)(AX*8), Y1, Y0
	VMULPD Y2, Y0, Y0
	VMULPD Y3, Y0, Y0
	VMULPD Y4, Y0, Y0
	VMOVUPD Y0, (DI)(AX*8)
	ADDQ $4, AX
	CMPQ AX, BX
	JLT  four
rest:
	CMPQ AX, CX
	JGE  done
one:
	VMULSD (SI)(AX*8), X1, X0
	VMULSD X2, X0, X0
	VMULSD X3, X0, X0
	VMULSD X4, X0, X0
	VMOVSD X0, (DI)(AX*8)
	INCQ AX
	CMPQ AX, CX
	JLT  one
done:
	VZEROUPPER
	RET

// d = a + b*(next a - a): a row of a table between its columns. b stands for the
// same columns of every row. nc is 4 or more; the last four of a row may be
// computed twice, since d is none of the others.
TEXT ·lerpRows(SB), NOSPLIT, $0-64
	LOAD
	MOVQ CX, R12
	SUBQ $4, R12
row:
	XORQ AX, AX
four:
	VMOVUPD (SI)(AX*8), Y0
	VMOVUPD 8(SI)(AX*8), Y1
	VSUBPD  Y0, Y1, Y1
	VMULPD  (DX)(AX*8), Y1, Y1
	VADDPD  Y1, Y0, Y0
	VMOVUPD Y0, (DI)(AX*8)
	ADDQ $4, AX
	CMPQ AX, BX
	JLT  four
	CMPQ AX, CX
	JGE  done
	MOVQ R12, AX
	JMP  four
done:
	NEXTROW

// d = a + f*(b-a). n is 4 or more; the last four may be computed twice.
TEXT ·lerpBetween(SB), NOSPLIT, $0-40
	MOVQ d+0(FP), DI
	MOVQ a+8(FP), SI
	MOVQ b+16(FP), DX
	VBROADCASTSD f+24(FP), Y2
	MOVQ n+32(FP), CX
	SUBQ $4, CX
	XORQ AX, AX
four:
	VMOVUPD (SI)(AX*8), Y0
	VMOVUPD (DX)(AX*8), Y1
	VSUBPD  Y0, Y1, Y1
	VMULPD  Y2, Y1, Y1
	VADDPD  Y1, Y0, Y0
	VMOVUPD Y0, (DI)(AX*8)
	CMPQ AX, CX
	JGE  done
	ADDQ $4, AX
	CMPQ AX, CX
	JLE  four
	MOVQ CX, AX
	JMP  four
done:
	VZEROUPPER
	RET

// Whether all of n values are finite: x - x is +0 for what is and no number for
// all else.
TEXT ·allFinite(SB), NOSPLIT, $0-17
	MOVQ v+0(FP), SI
	MOVQ n+8(FP), CX
	MOVQ CX, BX
	ANDQ $~3, BX
	XORQ AX, AX
	VXORPD Y2, Y2, Y2
	CMPQ AX, BX
	JGE  rest
four:
	VMOVUPD (SI)(AX*8), Y0
	VSUBPD  Y0, Y0, Y1
	VORPD   Y1, Y2, Y2
	ADDQ $4, AX
	CMPQ AX, BX
	JLT  four
rest:
	CMPQ AX, CX
	JGE  done
one:
	VMOVSD (SI)(AX*8), X0
	VSUBSD X0, X0, X1
	VORPD  Y1, Y2, Y2
	INCQ AX
	CMPQ AX, CX
	JLT  one
done:
	VPTEST Y2, Y2
	SETEQ  ret+16(FP)
	VZEROUPPER
	RET

// The least and the greatest of n values, n at least 8, and whether all are
// finite. Two of each are kept, since each waits for the one before.
TEXT ·extentWide(SB), NOSPLIT, $0-33
	MOVQ v+0(FP), SI
	MOVQ n+8(FP), CX
	MOVQ CX, BX
	ANDQ $~7, BX
	XORQ AX, AX
	VXORPD  Y2, Y2, Y2
	VMOVUPD (SI), Y3
	VMOVAPD Y3, Y4
	VMOVAPD Y3, Y5
	VMOVAPD Y3, Y6
eight:
	VMOVUPD (SI)(AX*8), Y0
	VMOVUPD 32(SI)(AX*8), Y7
	VSUBPD  Y0, Y0, Y1
	VSUBPD  Y7, Y7, Y8
	VMINPD  Y0, Y3, Y3
	VMAXPD  Y0, Y4, Y4
	VORPD   Y1, Y2, Y2
	VMINPD  Y7, Y5, Y5
	VMAXPD  Y7, Y6, Y6
	VORPD   Y8, Y2, Y2
	ADDQ $8, AX
	CMPQ AX, BX
	JLT  eight
	VMINPD Y5, Y3, Y3
	VMAXPD Y6, Y4, Y4
	// The two halves, so that the rest can go on with one value at a time.
	VEXTRACTF128 $1, Y2, X1
	VORPD  X1, X2, X2
	VEXTRACTF128 $1, Y3, X1
	VMINPD X1, X3, X3
	VEXTRACTF128 $1, Y4, X1
	VMAXPD X1, X4, X4
	VPERMILPD $1, X2, X1
	VORPD  X1, X2, X2
	VPERMILPD $1, X3, X1
	VMINSD X1, X3, X3
	VPERMILPD $1, X4, X1
	VMAXSD X1, X4, X4
	CMPQ AX, CX
	JGE  done
one:
	VMOVSD (SI)(AX*8), X0
	VSUBSD X0, X0, X1
	VORPD  X1, X2, X2
	VMINSD X0, X3, X3
	VMAXSD X0, X4, X4
	INCQ AX
	CMPQ AX, CX
	JLT  one
done:
	VMOVSD X3, lo+16(FP)
	VMOVSD X4, hi+24(FP)
	VMOVQ  X2, DX
	TESTQ  DX, DX
	SETEQ  finite+32(FP)
	VZEROUPPER
	RET
