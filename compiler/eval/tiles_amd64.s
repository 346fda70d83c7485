//go:build amd64 && !purego

#include "textflag.h"

// A chain of operations on 16 cells at a time, in registers 0 to 3; then on the next
// 16. Each operation is a routine that ends with a jump to the next one's.
//
// R8 is the operation (tile: its number, two operands), SI the first of them. R9 is
// how far the cells are from the operands' beginning, in bytes, CX how many cells
// are left. R10 is the table of routines. R12 points to what is returned, R13 to
// the cells of these 16 that count. Y12 collects the cells to be looked at again, Y13
// is the sign bit, Y14 1.0, Y15 0, four times each.

#define NEXT \
	ADDQ $24, R8;       \
	MOVQ (R8), R11;     \
	MOVQ (R10)(R11*8), R11; \
	JMP  R11

#define ROUTINE(name) TEXT name<>(SB), NOSPLIT|NOFRAME, $0-0

// An operand with a value for each cell, and one with a single value.
#define VALUES(at, A, B, C, D) \
	MOVQ at(R8), DX; \
	VMOVUPD (DX)(R9*1), A;   \
	VMOVUPD 32(DX)(R9*1), B; \
	VMOVUPD 64(DX)(R9*1), C; \
	VMOVUPD 96(DX)(R9*1), D

#define VALUE(at, A) \
	MOVQ at(R8), DX; \
	VBROADCASTSD (DX), A

#define BOTH(OP) \
	VALUES(8, Y4, Y5, Y6, Y7); \
	OP(Y4, Y0); \
	OP(Y5, Y1); \
	OP(Y6, Y2); \
	OP(Y7, Y3); \
	NEXT

#define WITH(OP) \
	VALUE(8, Y4); \
	OP(Y4, Y0); \
	OP(Y4, Y1); \
	OP(Y4, Y2); \
	OP(Y4, Y3); \
	NEXT

#define ALONE(OP) \
	OP(Y0); \
	OP(Y1); \
	OP(Y2); \
	OP(Y3); \
	NEXT

#define ADD(M, X) VADDPD M, X, X
#define SUB(M, X) VSUBPD M, X, X
#define BUS(M, X) VSUBPD X, M, X
#define MUL(M, X) VMULPD M, X, X
#define DIV(M, X) VDIVPD M, X, X
#define VID(M, X) VDIVPD X, M, X

// Minimum, maximum and comparisons are those of columns_amd64.s.
#define MIN(M, X) VMINPD M, X, Y8; VMINPD X, M, Y9; VORPD Y8, Y9, X
#define MAX(M, X) VXORPD Y13, X, X; VXORPD Y13, M, Y10; VMINPD Y10, X, Y8; VMINPD X, Y10, Y9; VORPD Y8, Y9, X; VXORPD Y13, X, X
#define LT(M, X) VCMPPD $17, M, X, X; VANDPD Y14, X, X
#define LE(M, X) VCMPPD $18, M, X, X; VANDPD Y14, X, X
#define GT(M, X) VCMPPD $30, M, X, X; VANDPD Y14, X, X
#define GE(M, X) VCMPPD $29, M, X, X; VANDPD Y14, X, X
#define EQ(M, X) VCMPPD $0, M, X, X; VANDPD Y14, X, X
#define NE(M, X) VCMPPD $4, M, X, X; VANDPD Y14, X, X
#define AND(M, X) VCMPPD $4, Y15, X, X; VCMPPD $4, Y15, M, Y8; VANDPD Y8, X, X; VANDPD Y14, X, X
#define OR(M, X) VCMPPD $4, Y15, X, X; VCMPPD $4, Y15, M, Y8; VORPD Y8, X, X; VANDPD Y14, X, X

#define NOT(X) VCMPPD $0, Y15, X, X; VANDPD Y14, X, X
#define NEG(X) VXORPD Y13, X, X
#define ABS(X) VANDNPD X, Y13, X
#define SQRT(X) VSQRTPD X, X
#define ROUND(X) VROUNDPD $8, X, X
#define FLOOR(X) VROUNDPD $9, X, X
#define CEIL(X) VROUNDPD $10, X, X

// The cells of X that aren't from Y4 to Y5, of those that count.
#define HOLD(X, at) \
	VCMPPD $29, Y4, X, Y6; \
	VCMPPD $18, Y5, X, Y7; \
	VANDPD Y7, Y6, Y6;     \
	VANDNPD at(R13), Y6, Y6; \
	VORPD  Y6, Y12, Y12

// A square. What is too small or too great for it, but for 0, is to be looked at.
#define SQUARE(X, at) \
	VANDNPD X, Y13, Y8;    \
	VCMPPD $29, Y4, Y8, Y6; \
	VCMPPD $18, Y5, Y8, Y7; \
	VANDPD Y7, Y6, Y6;     \
	VCMPPD $0, Y15, X, Y7; \
	VORPD  Y7, Y6, Y6;     \
	VANDNPD at(R13), Y6, Y6; \
	VORPD  Y6, Y12, Y12;   \
	VMULPD X, X, X

#define CHOOSE(X, B, C) VCMPPD $4, Y15, X, X; VBLENDVPD X, B, C, X

TEXT ·runTiles(SB), NOSPLIT, $0-40
	MOVQ code+0(FP), SI
	MOVQ from+8(FP), R9
	MOVQ n+16(FP), CX
	MOVQ marks+24(FP), R13
	MOVQ again+32(FP), R12
	SHLQ $3, R9
	VXORPD Y15, Y15, Y15
	VXORPD Y12, Y12, Y12
	VPCMPEQD X13, X13, X13
	VPSLLQ   $63, X13, X13
	VINSERTF128 $1, X13, Y13, Y13
	MOVQ $0x3ff0000000000000, AX
	VMOVQ AX, X14
	VMOVDDUP X14, X14
	VINSERTF128 $1, X14, Y14, Y14
	LEAQ routines<>(SB), R10
	// marks is 16 cells that count and 16 that don't: the last tile begins later in it.
	MOVQ SI, R8
	CMPQ CX, $16
	JGE  go
	MOVQ $16, AX
	SUBQ CX, AX
	LEAQ (R13)(AX*8), R13
go:
	MOVQ (R8), R11
	MOVQ (R10)(R11*8), R11
	JMP  R11

ROUTINE(end)
	ADDQ $128, R9
	SUBQ $16, CX
	JLE  done
	CMPQ CX, $16
	JGE  again
	MOVQ $16, AX
	SUBQ CX, AX
	LEAQ (R13)(AX*8), R13
again:
	MOVQ SI, R8
	MOVQ (R8), R11
	MOVQ (R10)(R11*8), R11
	JMP  R11
done:
	VXORPD X0, X0, X0
	VPTEST Y12, Y12
	SETNE  (R12)
	VZEROUPPER
	RET

ROUTINE(loadV)
	VALUES(8, Y0, Y1, Y2, Y3)
	NEXT

ROUTINE(loadS)
	VALUE(8, Y0)
	VMOVAPD Y0, Y1
	VMOVAPD Y0, Y2
	VMOVAPD Y0, Y3
	NEXT

ROUTINE(store)
	MOVQ 8(R8), DX
	VMOVUPD Y0, (DX)(R9*1)
	VMOVUPD Y1, 32(DX)(R9*1)
	VMOVUPD Y2, 64(DX)(R9*1)
	VMOVUPD Y3, 96(DX)(R9*1)
	NEXT

ROUTINE(addV)
	BOTH(ADD)
ROUTINE(addS)
	WITH(ADD)
ROUTINE(subV)
	BOTH(SUB)
ROUTINE(subS)
	WITH(SUB)
ROUTINE(busV)
	BOTH(BUS)
ROUTINE(busS)
	WITH(BUS)
ROUTINE(mulV)
	BOTH(MUL)
ROUTINE(mulS)
	WITH(MUL)
ROUTINE(divV)
	BOTH(DIV)
ROUTINE(divS)
	WITH(DIV)
ROUTINE(vidV)
	BOTH(VID)
ROUTINE(vidS)
	WITH(VID)
ROUTINE(minV)
	BOTH(MIN)
ROUTINE(minS)
	WITH(MIN)
ROUTINE(maxV)
	BOTH(MAX)
ROUTINE(maxS)
	WITH(MAX)
ROUTINE(ltV)
	BOTH(LT)
ROUTINE(ltS)
	WITH(LT)
ROUTINE(leV)
	BOTH(LE)
ROUTINE(leS)
	WITH(LE)
ROUTINE(gtV)
	BOTH(GT)
ROUTINE(gtS)
	WITH(GT)
ROUTINE(geV)
	BOTH(GE)
ROUTINE(geS)
	WITH(GE)
ROUTINE(eqV)
	BOTH(EQ)
ROUTINE(eqS)
	WITH(EQ)
ROUTINE(neV)
	BOTH(NE)
ROUTINE(neS)
	WITH(NE)
ROUTINE(andV)
	BOTH(AND)
ROUTINE(andS)
	WITH(AND)
ROUTINE(orV)
	BOTH(OR)
ROUTINE(orS)
	WITH(OR)
ROUTINE(not)
	ALONE(NOT)
ROUTINE(neg)
	ALONE(NEG)
ROUTINE(abs)
	ALONE(ABS)
ROUTINE(sqrt)
	ALONE(SQRT)
ROUTINE(round)
	ALONE(ROUND)
ROUTINE(floor)
	ALONE(FLOOR)
ROUTINE(ceil)
	ALONE(CEIL)

ROUTINE(hold)
	MOVQ 8(R8), DX
	VBROADCASTSD (DX), Y4
	VBROADCASTSD 8(DX), Y5
	HOLD(Y0, 0)
	HOLD(Y1, 32)
	HOLD(Y2, 64)
	HOLD(Y3, 96)
	NEXT

ROUTINE(square)
	MOVQ 8(R8), DX
	VBROADCASTSD (DX), Y4
	VBROADCASTSD 8(DX), Y5
	SQUARE(Y0, 0)
	SQUARE(Y1, 32)
	SQUARE(Y2, 64)
	SQUARE(Y3, 96)
	NEXT

// What isn't finite: x - x is +0 for what is, and no number for all else.
#define FINITE(X, at) \
	VSUBPD X, X, Y4;       \
	VANDPD at(R13), Y4, Y4; \
	VORPD  Y4, Y12, Y12

ROUTINE(finite)
	FINITE(Y0, 0)
	FINITE(Y1, 32)
	FINITE(Y2, 64)
	FINITE(Y3, 96)
	NEXT

ROUTINE(ifVV)
	VALUES(8, Y4, Y5, Y6, Y7)
	VALUES(16, Y8, Y9, Y10, Y11)
	CHOOSE(Y0, Y4, Y8)
	CHOOSE(Y1, Y5, Y9)
	CHOOSE(Y2, Y6, Y10)
	CHOOSE(Y3, Y7, Y11)
	NEXT

ROUTINE(ifVS)
	VALUES(8, Y4, Y5, Y6, Y7)
	VALUE(16, Y8)
	CHOOSE(Y0, Y4, Y8)
	CHOOSE(Y1, Y5, Y8)
	CHOOSE(Y2, Y6, Y8)
	CHOOSE(Y3, Y7, Y8)
	NEXT

ROUTINE(ifSV)
	VALUE(8, Y4)
	VALUES(16, Y8, Y9, Y10, Y11)
	CHOOSE(Y0, Y4, Y8)
	CHOOSE(Y1, Y4, Y9)
	CHOOSE(Y2, Y4, Y10)
	CHOOSE(Y3, Y4, Y11)
	NEXT

// The value in the registers where the first operand says so, else the second.
#define THEN(X, B, C) VCMPPD $4, Y15, B, B; VBLENDVPD B, X, C, X

ROUTINE(thenVV)
	VALUES(8, Y4, Y5, Y6, Y7)
	VALUES(16, Y8, Y9, Y10, Y11)
	THEN(Y0, Y4, Y8)
	THEN(Y1, Y5, Y9)
	THEN(Y2, Y6, Y10)
	THEN(Y3, Y7, Y11)
	NEXT

ROUTINE(thenVS)
	VALUES(8, Y4, Y5, Y6, Y7)
	VALUE(16, Y8)
	THEN(Y0, Y4, Y8)
	THEN(Y1, Y5, Y8)
	THEN(Y2, Y6, Y8)
	THEN(Y3, Y7, Y8)
	NEXT

// The other way round.
#define ELSE(X, B, C) VCMPPD $4, Y15, B, B; VBLENDVPD B, C, X, X

ROUTINE(elseVV)
	VALUES(8, Y4, Y5, Y6, Y7)
	VALUES(16, Y8, Y9, Y10, Y11)
	ELSE(Y0, Y4, Y8)
	ELSE(Y1, Y5, Y9)
	ELSE(Y2, Y6, Y10)
	ELSE(Y3, Y7, Y11)
	NEXT

ROUTINE(elseVS)
	VALUES(8, Y4, Y5, Y6, Y7)
	VALUE(16, Y8)
	ELSE(Y0, Y4, Y8)
	ELSE(Y1, Y5, Y8)
	ELSE(Y2, Y6, Y8)
	ELSE(Y3, Y7, Y8)
	NEXT

ROUTINE(ifSS)
	VALUE(8, Y4)
	VALUE(16, Y8)
	CHOOSE(Y0, Y4, Y8)
	CHOOSE(Y1, Y4, Y8)
	CHOOSE(Y2, Y4, Y8)
	CHOOSE(Y3, Y4, Y8)
	NEXT

// The order is that of the numbers in tiles.go.
DATA routines<>+0(SB)/8, $end<>(SB)
DATA routines<>+8(SB)/8, $loadV<>(SB)
DATA routines<>+16(SB)/8, $loadS<>(SB)
DATA routines<>+24(SB)/8, $store<>(SB)
DATA routines<>+32(SB)/8, $addV<>(SB)
DATA routines<>+40(SB)/8, $addS<>(SB)
DATA routines<>+48(SB)/8, $subV<>(SB)
DATA routines<>+56(SB)/8, $subS<>(SB)
DATA routines<>+64(SB)/8, $busV<>(SB)
DATA routines<>+72(SB)/8, $busS<>(SB)
DATA routines<>+80(SB)/8, $mulV<>(SB)
DATA routines<>+88(SB)/8, $mulS<>(SB)
DATA routines<>+96(SB)/8, $divV<>(SB)
DATA routines<>+104(SB)/8, $divS<>(SB)
DATA routines<>+112(SB)/8, $vidV<>(SB)
DATA routines<>+120(SB)/8, $vidS<>(SB)
DATA routines<>+128(SB)/8, $minV<>(SB)
DATA routines<>+136(SB)/8, $minS<>(SB)
DATA routines<>+144(SB)/8, $maxV<>(SB)
DATA routines<>+152(SB)/8, $maxS<>(SB)
DATA routines<>+160(SB)/8, $ltV<>(SB)
DATA routines<>+168(SB)/8, $ltS<>(SB)
DATA routines<>+176(SB)/8, $leV<>(SB)
DATA routines<>+184(SB)/8, $leS<>(SB)
DATA routines<>+192(SB)/8, $gtV<>(SB)
DATA routines<>+200(SB)/8, $gtS<>(SB)
DATA routines<>+208(SB)/8, $geV<>(SB)
DATA routines<>+216(SB)/8, $geS<>(SB)
DATA routines<>+224(SB)/8, $eqV<>(SB)
DATA routines<>+232(SB)/8, $eqS<>(SB)
DATA routines<>+240(SB)/8, $neV<>(SB)
DATA routines<>+248(SB)/8, $neS<>(SB)
DATA routines<>+256(SB)/8, $andV<>(SB)
DATA routines<>+264(SB)/8, $andS<>(SB)
DATA routines<>+272(SB)/8, $orV<>(SB)
DATA routines<>+280(SB)/8, $orS<>(SB)
DATA routines<>+288(SB)/8, $not<>(SB)
DATA routines<>+296(SB)/8, $neg<>(SB)
DATA routines<>+304(SB)/8, $abs<>(SB)
DATA routines<>+312(SB)/8, $sqrt<>(SB)
DATA routines<>+320(SB)/8, $round<>(SB)
DATA routines<>+328(SB)/8, $floor<>(SB)
DATA routines<>+336(SB)/8, $ceil<>(SB)
DATA routines<>+344(SB)/8, $hold<>(SB)
DATA routines<>+352(SB)/8, $square<>(SB)
DATA routines<>+360(SB)/8, $finite<>(SB)
DATA routines<>+368(SB)/8, $ifVV<>(SB)
DATA routines<>+376(SB)/8, $ifVS<>(SB)
DATA routines<>+384(SB)/8, $ifSV<>(SB)
DATA routines<>+392(SB)/8, $ifSS<>(SB)
DATA routines<>+400(SB)/8, $thenVV<>(SB)
DATA routines<>+408(SB)/8, $thenVS<>(SB)
DATA routines<>+416(SB)/8, $elseVV<>(SB)
DATA routines<>+424(SB)/8, $elseVS<>(SB)
GLOBL routines<>(SB), NOPTR, $432
