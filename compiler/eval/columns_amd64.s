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

// A value for each column on both sides.
#define VV(PACKED, SINGLE) \
	LOAD; \
row: \
	XORQ AX, AX; \
	CMPQ AX, BX; \
	JGE  rest;   \
four: \
	VMOVUPD (SI)(AX*8), Y0;     \
	PACKED  (DX)(AX*8), Y0, Y0; \
	VMOVUPD Y0, (DI)(AX*8);     \
	ADDQ $4, AX; \
	CMPQ AX, BX; \
	JLT  four;   \
rest: \
	CMPQ AX, CX; \
	JGE  done;   \
one: \
	VMOVSD (SI)(AX*8), X0;     \
	SINGLE (DX)(AX*8), X0, X0; \
	VMOVSD X0, (DI)(AX*8);     \
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
	PACKED  Y1, Y0, Y0;     \
	VMOVUPD Y0, (DI)(AX*8); \
	ADDQ $4, AX; \
	CMPQ AX, BX; \
	JLT  four;   \
rest: \
	CMPQ AX, CX; \
	JGE  done;   \
one: \
	VMOVSD (SI)(AX*8), X0; \
	SINGLE X1, X0, X0;     \
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
	VBROADCASTSD (SI), Y1; \
	XORQ AX, AX; \
	CMPQ AX, BX; \
	JGE  rest;   \
four: \
	PACKED  (DX)(AX*8), Y1, Y0; \
	VMOVUPD Y0, (DI)(AX*8);     \
	ADDQ $4, AX; \
	CMPQ AX, BX; \
	JLT  four;   \
rest: \
	CMPQ AX, CX; \
	JGE  done;   \
one: \
	SINGLE (DX)(AX*8), X1, X0; \
	VMOVSD X0, (DI)(AX*8);     \
	INCQ AX;     \
	CMPQ AX, CX; \
	JLT  one;    \
done: \
	NEXTROW

TEXT ·addVV(SB), NOSPLIT, $0-64
	VV(VADDPD, VADDSD)

TEXT ·subVV(SB), NOSPLIT, $0-64
	VV(VSUBPD, VSUBSD)

TEXT ·mulVV(SB), NOSPLIT, $0-64
	VV(VMULPD, VMULSD)

TEXT ·divVV(SB), NOSPLIT, $0-64
	VV(VDIVPD, VDIVSD)

TEXT ·addVS(SB), NOSPLIT, $0-64
	VS(VADDPD, VADDSD)

TEXT ·subVS(SB), NOSPLIT, $0-64
	VS(VSUBPD, VSUBSD)

TEXT ·mulVS(SB), NOSPLIT, $0-64
	VS(VMULPD, VMULSD)

TEXT ·divVS(SB), NOSPLIT, $0-64
	VS(VDIVPD, VDIVSD)

TEXT ·subSV(SB), NOSPLIT, $0-64
	SV(VSUBPD, VSUBSD)

TEXT ·divSV(SB), NOSPLIT, $0-64
	SV(VDIVPD, VDIVSD)

// x - x is +0 for what is finite and no number for all else.
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
